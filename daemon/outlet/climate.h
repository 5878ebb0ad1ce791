// The climate topic of a bench: the last air, the last night against what the plants are used to,
// the sensors. Described in config/schemas/climate.json; unknown figures are null.
#pragma once

#include <string>

#include "engine/engine.h"

namespace plainwater::outlet {

/// `now`: engine time.
std::string climate_json(const engine::BenchNow& bench, Instant now);

}  // namespace plainwater::outlet
