// A hold: plain water only for the whole bench, as long as one of its events stands. What is
// detected is proved event by event. What people ask for ends on its date, each on its own: a
// shorter one is kept beside a longer one, and counts if that ends sooner. A hold is named by what
// lasts longest.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "feeding/decision.h"
#include "season/sharp_drop.h"
#include "settings/settings.h"

namespace plainwater::feeding {

enum class Proof : std::uint8_t { provisional, confirmed, withdrawn };

/// What began or lengthened a hold. Temperatures in °C.
struct HoldEvent {
  static constexpr std::uint32_t kWhoVersion = 9;  ///< of snapshots

  Cause cause = Cause::sharp_drop;
  Proof proof = Proof::provisional;
  Instant placed{};
  bool during_hold = false;  ///< the bench was already on plain water
  Instant until{};           ///< set by a person; detected events derive their end
  std::string who{};         ///< that person; empty: not known any more
  std::string id{};          ///< of the request that asked for it; empty: not known
  /// Of the request that extended it last, and what it was before that; empty: none did.
  std::string extended{}, former_who{};
  Instant former_until{kNever};
  double base_c = 0, noise_c = 0, before_c = 0, landing_c = 0;
  double acclimated_c = 0;       ///< A at the event's start
  double deficit_c = 0;          ///< mean of the last 4 deficits at its start
  double peak_c = 0;             ///< largest mean of 4 deficits over the first 7 nights
  std::vector<double> nights_c;  ///< means of the counted nights since its start
  Instant moved{kNever};         ///< for a move: when the bench was last carried
  bool by_nights = false;        ///< proved by the nights since; a move is proved by its climate
  bool also_drop = false;  ///< for a move: it caused the fall of the nights, which is no sharp drop
                           ///< of the season

  static HoldEvent of(const season::Drop& drop, Instant placed);
  static HoldEvent of_move(Cause cause, Instant moved, Instant placed);
  static HoldEvent of_grower(Instant placed, Instant until, Cause cause, std::string who,
                             std::string id = {});

  bool detected() const { return cause == Cause::sharp_drop || is_move(cause); }
  bool stands() const { return proof != Proof::withdrawn; }
  /// How far the nights since the start, without their first third, stay under those before the
  /// fall, °C. Measured from the base, not from A: A has already followed the fall by 2 to 3 °C
  /// when the trigger fires, so a warm week in a real autumn drop would cancel the hold.
  double lasting_c() const;
  /// How much of the fall must last to confirm the event, °C: `confirm_share` of it, half by
  /// default.
  double needed_c(const DropRules& rules) const;
  /// Takes the next counted night of an event that is proved by nights, and decides from night
  /// `decide_night` on. Returns whether the proof changed. Without `may_withdraw`, a withdrawal is
  /// put off and the question asked again the next night.
  bool take_night(double mean_c, double mean_deficit_c, bool may_withdraw, const DropRules& rules);
  /// Days of plain water by depth: `acclimation_days`·ln(peak/0.5), within the shortest and the
  /// longest. During a hold the shortest: by then the pots hold no feed that the plants could not
  /// use.
  double length_days(const DropRules& rules) const;
  Instant planned_end(const DropRules& rules) const;

  template <class A>
  void fields(A& a) {
    a(cause);
    a(proof);
    a(placed);
    a(during_hold);
    a(until);
    if (a.version() >= kWhoVersion) {
      a(who);
      a(id);
      a(extended);
      a(former_who);
      a(former_until);
    }
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

/// What the season allowed before a hold, restored if the hold is withdrawn.
struct SeasonFeed {
  bool full = true;   ///< the season allows full feed
  int percent = 100;  ///< how far the strength has come on its ramp
  Cause reduced_by = Cause::none;
  Instant raised{kNever};        ///< the last increase
  Instant gentle_until{kNever};  ///< the first week after a hold
  Instant moved_until{kNever};   ///< end of the weak feed after a move to a warmer place
  bool operator==(const SeasonFeed&) const = default;
  /// For a bench that goes on for both: the more careful of each.
  void join(const SeasonFeed& other);

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
  /// Of holds that people asked for beside each other; a faulty program may ask for thousands.
  static constexpr std::size_t kMostAsked = 12;

  std::uint32_t id = 0;
  Cause cause = Cause::sharp_drop;  ///< of what lasts longest, as of the last `settle`
  Instant placed{};
  std::vector<HoldEvent> events;
  SeasonFeed before;
  Instant asked_at{kNever};  ///< when people first asked for plain water, or were last asked
                             ///< whether they still want it (monthly)
  Instant relieved{kNever};  ///< the grower lets relief end the hold: it ends then, but not before
                             ///< its earliest end

  bool stands() const;
  bool has_detected() const;  ///< a detected event is not withdrawn
  /// When detection first held the bench; kNever: it did not.
  Instant detected_since() const;
  Instant earliest_end(const DropRules& rules) const;
  Instant planned_end(const DropRules& rules) const;
  Instant latest_end(const DropRules& rules) const;
  /// Whether detected events would last longer than `longest_plain_water_days`, and nothing that
  /// people asked for outlasts that.
  bool capped(const DropRules& rules) const;

  // What people asked for: hold_asked.cpp.
  /// The one that lasts longest; null: nobody asked.
  const HoldEvent* asked() const;
  /// Its end; kNever: nobody asked.
  Instant asked_until() const;
  /// Whether people asked for longer than detection does: the planned end is a date that a person
  /// set.
  bool asked_leads(const DropRules& rules) const;
  /// Takes what a person asks for from `t` on. It replaces one that ends with it and is of the same
  /// request, or of one not known; if as many as may be are kept, it replaces the longest of those
  /// that end no later. False: it would have to and all end later.
  bool take_asked(HoldEvent event, Instant t);
  /// The person `who` sets a later end to what lasts longest, until `until`; `request`: its id.
  void extend(Instant until, const std::string& who, const std::string& request, Instant t,
              const DropRules& rules);
  /// What is left without what the request of this id asked for: a hold of people is not there,
  /// what it extended ends as before; what another person extended since stays, by that one's id.
  /// None: nothing of that request is in force.
  std::optional<Hold> without(std::string_view request, const DropRules& rules) const;
  /// What is left without that which lasts longest: what was detected, or one that people asked
  /// for.
  Hold without_longest(const DropRules& rules) const;
  /// Nothing that was detected stands any more.
  void forget_detected();
  /// Names the hold by what lasts longest.
  void settle(const DropRules& rules);
  HoldView view(const DropRules& rules) const;

  template <class A>
  void fields(A& a) {
    a(id);
    a(cause);
    a(placed);
    a(events);
    a(before);
    a(asked_at);
    a(relieved);
  }

 private:
  Instant detected_end(const DropRules& rules) const;  ///< kNever: nothing detected stands
  Cause longest(const DropRules& rules) const;
  /// The first detected event that is not withdrawn; null: there is none.
  const HoldEvent* detected() const;
  /// The latest end that detection may ask for, counted from the first detected event not
  /// withdrawn.
  Instant cap(const DropRules& rules) const;
};

}  // namespace plainwater::feeding
