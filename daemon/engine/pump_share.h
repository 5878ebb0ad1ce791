// What a pump may give now: the most careful share of its benches, or plain water if the pump
// cannot dose that.
#pragma once

#include <optional>
#include <string>

#include "engine/bench_state.h"
#include "feeding/dose.h"

namespace plainwater::engine {

struct PumpShare {
  feeding::Feeding feeding = feeding::Feeding::full;
  int percent = 100;
  std::string limited_by;  ///< the bench by which others get less; empty: none does
  std::optional<feeding::Dose> dose;
};

PumpShare pump_share(const Settings& settings, std::size_t pump, const Benches& benches,
                     Instant now);
/// The pump that waters the bench; none when it is watered by hand.
std::optional<std::size_t> pump_of(const Settings& settings, std::size_t bench);

}  // namespace plainwater::engine
