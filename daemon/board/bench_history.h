// What a bench's page tells of the past, out of the store: air, orders, doses. Each gives JSON of
// config/openapi.json.
#pragma once

#include <string>

#include "engine/engine.h"
#include "settings/settings.h"
#include "store/store.h"

namespace plainwater::board {

/// An AirSeries: the last `hours` before `now` (1 to 744), sensor by sensor, in steps of 15 min,
/// from 49 h on of an hour.
Result<std::string> air_json(store::Store& store, const engine::BenchNow& bench, Instant now,
                             int hours);
/// {"orders": GivenOrders}, the newest first; those that say the same as the one before are folded
/// into it.
Result<std::string> orders_json(store::Store& store, const std::string& topic, int limit);
/// {"doses": Doses}, the newest first.
Result<std::string> doses_json(store::Store& store, const std::string& bench,
                               const std::string& pump, int limit);

}  // namespace plainwater::board
