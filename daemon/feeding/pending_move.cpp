#include "feeding/pending_move.h"

#include <algorithm>

namespace plainwater::feeding {

MoveAnswer PendingMove::answer(const MoveRules& rules) const {
  if (cause == Cause::shuttling)
    return std::min(rules.moved_outdoors, rules.moved_indoors);  // shuttling goes both ways
  return to == Position::outdoors ? rules.moved_outdoors : rules.moved_indoors;
}

}  // namespace plainwater::feeding
