// What the pump says of a watering: to the service, and to its own log.
#pragma once

#include <optional>
#include <string>

#include "pump-stand-in/pump.h"

namespace plainwater::pump {

/// Counters since the pump began, for one bench.
struct Totals {
  double litres = 0, feed_ml = 0;
};

/// The message for `dosed` (config/schemas/dosed.json): what the pump believes it did. With
/// `totals` these stand in place of the figures of the one watering.
std::string report_json(const Watering& watering, const std::string& pump,
                        const std::optional<Totals>& totals);

/// A line of the log: what really happened. `feed_ml` is the stock that was drawn.
std::string log_json(const Watering& watering);

}  // namespace plainwater::pump
