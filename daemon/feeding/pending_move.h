// A move whose climate is not judged yet, and how the settings answer it.
#pragma once

#include "feeding/decision.h"
#include "settings/settings.h"

namespace plainwater::feeding {

struct PendingMove {
  Cause cause = Cause::moved_outdoors;
  Position to = Position::unknown;
  Instant from{};       ///< nights before this count as before the move
  Instant since{};      ///< nights after this count as after the move
  bool placed = false;  ///< it has a provisional event

  MoveAnswer answer(const MoveRules& rules) const;
  /// When weak feed after a move to warmth ends.
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
