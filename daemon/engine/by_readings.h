// What must not happen while the time comes from the readings (`clock.time: readings`): a season
// that is played in a minute would have a real pump feed a year's food in it.
#pragma once

#include <optional>
#include <vector>

#include "common/result.h"
#include "engine/engine.h"
#include "feeding/request.h"
#include "settings/settings.h"

namespace plainwater::engine {

/// Why the service must not run so; none when it may. `stand_in_pumps`: no pump is real.
std::optional<Error> armed_by_readings(const Settings& settings, const std::vector<PumpNow>& pumps,
                                       bool stand_in_pumps);

/// The answer to a request that cannot be granted by such a time ("time-from-readings",
/// "no-time-yet"); none when the engine may take it. `now` is engine time, kNever until
/// the first reading.
std::optional<feeding::Reply> refused_by_readings(const Settings& settings,
                                                  const feeding::Request& request, Instant now,
                                                  bool stand_in_pumps);

}  // namespace plainwater::engine
