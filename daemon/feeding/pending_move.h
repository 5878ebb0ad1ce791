// A move whose climate is not judged yet, and what the settings answer to it.
#pragma once

#include "feeding/decision.h"
#include "settings/settings.h"

namespace plainwater::feeding {

struct PendingMove {
  Cause cause = Cause::moved_outdoors;
  Position to = Position::unknown;
  Instant from{};       ///< the nights before it count as before
  Instant since{};      ///< the nights after it count as after
  bool placed = false;  ///< a provisional event of it stands

  MoveAnswer answer(const MoveRules& rules) const;
  /// The end of the weak feed after a move to warmth.
  Instant weak_until(const MoveRules& rules) const { return since + from_days(rules.reduced_days); }

  template <class A>
  void fields(A& a) {
    a(cause);
    a(to);
    a(from);
    a(since);
    a(placed);
  }
};

}  // namespace plainwater::feeding
