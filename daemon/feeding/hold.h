// A hold: plain water only, bench-wide, as long as one of its events stands. Each event keeps its
// own proof.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "feeding/decision.h"
#include "season/sharp_drop.h"
#include "settings/settings.h"

namespace plainwater::feeding {

enum class Proof : std::uint8_t { provisional, confirmed, withdrawn };

/// What began or lengthened a hold. Temperatures in °C.
struct HoldEvent {
  Cause cause = Cause::sharp_drop;
  Proof proof = Proof::provisional;
  Instant placed{};
  bool during_hold = false;  ///< the bench was on plain water already
  Instant until{};           ///< a grower's own end; detected events derive theirs
  double base_c = 0, noise_c = 0, before_c = 0, landing_c = 0;
  double acclimated_c = 0;       ///< A when it began
  double deficit_c = 0;          ///< mean of the last 4 deficits when it began
  double peak_c = 0;             ///< the largest such mean over the first 7 nights
  std::vector<double> nights_c;  ///< counted night means since it began
  Instant moved{kNever};         ///< of a move: when the bench was carried last
  bool by_nights = false;        ///< its proof are the nights since; a move's is its climate
  bool also_drop =
      false;  ///< of a move: the nights' fall is its work, and no sharp drop of the season

  static HoldEvent of(const season::Drop& drop, Instant placed);
  static HoldEvent of_move(Cause cause, Instant moved, Instant placed);
  static HoldEvent of_grower(Instant placed, Instant until, Cause cause);

  bool detected() const { return cause == Cause::sharp_drop || is_move(cause); }
  bool stands() const { return proof != Proof::withdrawn; }
  /// How far the nights since the start, without their first third, stay under those before the
  /// fall, °C. Against the base and not against A, which has followed the fall by 2 to 3 °C when
  /// the trigger fires: else a warm week in a real autumn drop would cancel it.
  double lasting_c() const;
  /// What must last for the event to be confirmed, °C: half of the fall.
  double needed_c(const DropRules& rules) const;
  /// Takes the next counted night of an event that is proved by nights; decides from night
  /// `decide_night` on. Returns whether the proof changed. Without `may_withdraw` what would be
  /// withdrawn is asked again the next night.
  bool take_night(double mean_c, double mean_deficit_c, bool may_withdraw, const DropRules& rules);
  /// Days of plain water by depth: 14·ln(peak/0.5) within the shortest and the longest. During a
  /// hold the shortest: no feed is left in the pots that the plants could not use.
  double length_days(const DropRules& rules) const;
  Instant planned_end(const DropRules& rules) const;

  template <class A>
  void fields(A& a) {
    a(cause);
    a(proof);
    a(placed);
    a(during_hold);
    a(until);
    a(base_c);
    a(noise_c);
    a(before_c);
    a(landing_c);
    a(acclimated_c);
    a(deficit_c);
    a(peak_c);
    a(nights_c);
    a(moved);
    a(by_nights);
    a(also_drop);
  }
};

/// What the bench was fed before, for a hold that is withdrawn.
struct SeasonFeed {
  bool full = true;   ///< the season allows full feed
  int percent = 100;  ///< where the strength stands on its ramp
  Cause reduced_by = Cause::none;
  Instant raised{kNever};        ///< the last increase
  Instant gentle_until{kNever};  ///< the first week after a hold
  Instant moved_until{kNever};   ///< weak feed so long after a move to a warmer place
  bool operator==(const SeasonFeed&) const = default;

  template <class A>
  void fields(A& a) {
    a(full);
    a(percent);
    a(reduced_by);
    a(raised);
    a(gentle_until);
    a(moved_until);
  }
};

struct Hold {
  std::uint32_t id = 0;
  Cause cause = Cause::sharp_drop;
  Instant placed{};
  std::vector<HoldEvent> events;
  SeasonFeed before;
  Instant asked{kNever};  ///< the last monthly question about a grower's hold
  Instant relieved{
      kNever};  ///< the grower lets relief end it: it ends then, but not before its earliest end

  bool stands() const;
  bool provisional() const;  ///< no standing event is confirmed yet
  bool only_detected() const;
  bool has_detected() const;  ///< a detected event stands
  Instant earliest_end(const DropRules& rules) const;
  Instant planned_end(const DropRules& rules) const;
  Instant latest_end(const DropRules& rules) const;
  /// Until when people asked for it at the longest; kNever: nobody did, or they let relief end it.
  Instant asked_until() const;
  /// Whether detected events would last past `longest_plain_water` days.
  bool capped(const DropRules& rules) const;
  HoldView view(const DropRules& rules) const;

  template <class A>
  void fields(A& a) {
    a(id);
    a(cause);
    a(placed);
    a(events);
    a(before);
    a(asked);
    a(relieved);
  }

 private:
  /// Detection may ask for so long and no longer, counted from its own first standing event.
  Instant cap(const DropRules& rules) const;
};

}  // namespace plainwater::feeding
