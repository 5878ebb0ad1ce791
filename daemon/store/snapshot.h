// A snapshot of the engine: together with the journal rows after `journal_seq` it gives the whole
// state.
#pragma once

#include <cstdint>
#include <string>

#include "common/instant.h"

namespace plainwater::store {

struct Snapshot {
  std::int64_t journal_seq = 0;  ///< the last row folded into it; 0: none
  Instant now{};                 ///< engine time
  int revision = 0;              ///< rules revision of the binary that made it
  std::string bytes;             ///< Engine::snapshot()
  bool for_ever = false;         ///< kept for ever on request; some others are kept as well
};

}  // namespace plainwater::store
