// The position topic of a bench: where it stands, how sure that is, and who says so. Described in
// config/schemas/position.json.
#pragma once

#include <string>

#include "engine/engine.h"

namespace plainwater::outlet {

/// `now`: engine time.
std::string position_json(const engine::BenchNow& bench, Instant now);

}  // namespace plainwater::outlet
