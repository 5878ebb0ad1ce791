// The part of a house that one request may change, as it stands at a moment: what it would change,
// and how it is taken back, is read off two of these.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "engine/engine.h"

namespace plainwater::engine {

struct Concerned {
  Instant now{kNever};
  std::optional<std::size_t>
      about;                      ///< the named bench, in `benches`; none: it names none of today
  std::vector<BenchNow> benches;  ///< it, and those on its pump; or those on the named pump
  std::optional<PumpNow> pump;    ///< theirs, or the named one
  std::optional<AbsenceNow> absence;  ///< of the house, whatever is asked
  const BenchNow* bench() const { return about ? &benches[*about] : nullptr; }
};

Concerned concerned_by(const feeding::Request& request, const Engine& engine,
                       const Settings& settings);

}  // namespace plainwater::engine
