// A matter on its way to people: whether it is open, how often it was told, when it is due again.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "notices/matter.h"

namespace plainwater::notices {

enum class State : std::uint8_t {
  happened,  ///< told once, then forgotten
  open,      ///< begun, and lasts
  over,      ///< remembered for a day, so that what comes and goes is not told each time
};

struct Item {
  std::string key;  ///< the matter's id, with the time for what happened: one row of the store
  Matter matter;
  State state = State::happened;
  int told = 0;        ///< messages so far
  bool heard = false;  ///< people were told that it is open: they will want to know that it is over
  Instant told_at{kNever};
  Instant due{kForever};  ///< when it is to be told next; for ever: not any more
  Instant gone{kNever};   ///< since when it is no longer seen
  Instant acknowledged{kNever};
  std::string acknowledged_by{};
  std::vector<std::int64_t> effects{};  ///< of the last message, in the store's outbox

  bool operator==(const Item&) const = default;
};

}  // namespace plainwater::notices
