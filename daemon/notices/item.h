// A matter on its way to people: whether it is open, how often it was told, and when it is due
// again.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "notices/matter.h"

namespace plainwater::notices {

enum class State : std::uint8_t {
  happened,  ///< told once, then forgotten
  open,      ///< has begun and lasts
  over,      ///< remembered for a day, so that a matter that comes and goes is not told each time
};

struct Item {
  std::string key;  ///< the matter's id, plus the time for what happened: one row in the store
  Matter matter;
  State state = State::happened;
  int told = 0;        ///< messages so far
  bool heard = false;  ///< people know that it is open, so they will want to know when it is over
  Instant told_at{kNever};
  Instant due{kForever};  ///< when it is to be told next; kForever: no more
  Instant gone{kNever};   ///< since when it has not been seen
  /// When whoever looks after the house hears of it again, if nobody has acknowledged it by then;
  /// kNever: not, or has.
  Instant unheard{kNever};
  Instant acknowledged{kNever};
  std::string acknowledged_by{};
  std::vector<std::int64_t> effects{};  ///< rows of the last message in the store's outbox

  bool operator==(const Item&) const = default;
};

}  // namespace plainwater::notices
