// A snapshot of the engine: with the journal rows after `journal_seq` it gives the whole state
// again.
#pragma once

#include <cstdint>
#include <string>

#include "common/instant.h"

namespace plainwater::store {

struct Snapshot {
  std::int64_t journal_seq = 0;  ///< the last row folded into it; 0 before the first
  Instant now{};                 ///< engine time
  int revision = 0;              ///< rules revision of the binary that made it
  std::string bytes;             ///< Engine::snapshot()
  bool for_ever = false;         ///< kept whatever comes after it; some others are kept as well
};

}  // namespace plainwater::store
