// The air of a bench as it is now, from trusted sensors.
#pragma once

#include "climate/night.h"
#include "engine/sensor_state.h"
#include "season/position_watch.h"
#include "settings/settings.h"

namespace plainwater::engine {

/// Whether the value can be an air temperature.
bool in_range(Milli value, const SensorRules& rules);
/// 0 to 100 %RH; nights leave out other values too.
constexpr bool possible_humidity(Milli value) { return value >= 0 && value <= 100'000; }
/// Whether such a value can be at all.
bool possible(Quantity quantity, Milli value, const SensorRules& rules);

struct LiveAir {
  double temperature_c = climate::kUnknown,
         humidity_rh = climate::kUnknown;  ///< NaN: no sensor speaks
  Instant time{kNever};                    ///< of the newest temperature
};
LiveAir live_air(const Bench& bench, const Sensors& sensors, Instant t, const SensorRules& rules);

/// What a bench's sensors and the references say about its place at `t`, °C.
season::Sighting sight(const Bench& bench, const Sensors& sensors, Instant t,
                       const Settings& settings);

}  // namespace plainwater::engine
