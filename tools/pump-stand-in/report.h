// Reports of a watering: to the service, and to the pump's own log.
#pragma once

#include <optional>
#include <string>

#include "pump-stand-in/pump.h"

namespace plainwater::pump {

/// Counters for one bench since the pump began.
struct Totals {
  double litres = 0, feed_ml = 0;
};

/// The message for `dosed` (config/schemas/dosed.json): what the pump's controller knows. `totals`,
/// if given, replace the figures of the single watering.
std::string report_json(const Watering& watering, const std::string& pump,
                        const std::optional<Totals>& totals);

/// A line of the log: what really happened. `feed_ml` is the stock actually drawn.
std::string log_json(const Watering& watering);

}  // namespace plainwater::pump
