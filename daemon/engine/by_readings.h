// What is forbidden while time comes from the readings (`clock.time: readings`): a season replayed
// in a minute would make a real pump give a year's feed in that minute.
#pragma once

#include <optional>
#include <vector>

#include "common/result.h"
#include "engine/engine.h"
#include "feeding/request.h"
#include "settings/settings.h"

namespace plainwater::engine {

/// Why the service must not run that way; none if it may. `stand_in_pumps`: no pump is real.
std::optional<Error> armed_by_readings(const Settings& settings, const std::vector<PumpNow>& pumps,
                                       bool stand_in_pumps);

/// The refusal of a request that cannot be granted by such time ("time-from-readings",
/// "no-time-yet"); none if the engine may take it. `now` is engine time, kNever before the first
/// reading.
std::optional<feeding::Reply> refused_by_readings(const Settings& settings,
                                                  const feeding::Request& request, Instant now,
                                                  bool stand_in_pumps);

}  // namespace plainwater::engine
