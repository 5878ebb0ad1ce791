// The climate topic of a bench: the last air, the last night against what the plants are used to,
// the sensors. Described in config/schemas/climate.json; unknown figures are null.
#pragma once

#include <string>

#include "common/json_text.h"
#include "engine/engine.h"

namespace plainwater::outlet {

/// `now`: engine time.
std::string climate_json(const engine::BenchNow& bench, Instant now);

// What the pages' JSON of a bench has in the same words.
JsonObject& add_air(JsonObject& json, const engine::BenchNow& bench);
/// From the day's mean to the metabolic rate.
JsonObject& add_season(JsonObject& json, const engine::BenchNow& bench);
/// For programs in English, else for `reader`.
std::string questions_json(const engine::BenchNow& bench, const words::Reader& reader = {});
/// A hold to come.
std::string announced_json(const feeding::Announced& announced);
std::string sensor_json(const engine::SensorNow& sensor);

}  // namespace plainwater::outlet
