// The hold of one bench: at most one is in force, and each has its own number.
#pragma once

#include <optional>
#include <vector>

#include "feeding/hold.h"

namespace plainwater::feeding {

class HoldKeeper {
 public:
  const std::optional<Hold>& hold() const { return hold_; }
  bool in_force() const { return hold_.has_value(); }
  /// As the site's clocks show it; a hold must be in force.
  HoldView local_view(const Settings& settings) const;
  /// For changing it; a hold must be in force.
  Hold& current() { return *hold_; }
  /// The move's event that is not withdrawn; null when there is none.
  HoldEvent* move_event();
  const HoldEvent* move_event() const;

  /// Adds the event to the hold in force, or places a hold with it at `t`; `before` is the feed
  /// that a withdrawal restores. Returns hold_extended or hold_placed.
  DecisionKind place_or_extend(HoldEvent event, Instant t, const SeasonFeed& before);
  /// The bench was carried on before its move was judged: changes the provisional event
  /// accordingly. False when there is none.
  bool recast_move(Cause cause, Instant moved);
  /// Relief does not change how cold the nights before it were: sharp drops not proved yet count as
  /// proved.
  void confirm_drops();
  void clear() { hold_.reset(); }
  /// Names the hold in force, if there is one, by what lasts longest.
  void settle(const DropRules& rules) {
    if (hold_) hold_->settle(rules);
  }
  /// For a bench that goes on for both: one hold of the events of both. `own` and `others`: what
  /// the season allows each.
  void join(const HoldKeeper& other, const SeasonFeed& own, const SeasonFeed& others);

  template <class A>
  void fields(A& a) {
    a(hold_);
    a(last_id_);
  }

 private:
  std::optional<Hold> hold_;
  std::uint32_t last_id_ = 0;
};

}  // namespace plainwater::feeding
