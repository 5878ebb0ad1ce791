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
  /// Its events, for nights to prove; a hold must be in force.
  std::vector<HoldEvent>& events() { return hold_->events; }
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
  /// Relief may end the hold from `t` on.
  void relieve(Instant t) { hold_->relieved = t; }
  /// The grower was asked whether the hold is still wanted.
  void note_asked(Instant t) { hold_->asked = t; }
  void clear() { hold_.reset(); }
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
