// The measurements in one message.
#pragma once

#include <utility>
#include <vector>

#include "common/reading.h"
#include "feeding/dose_report.h"

namespace plainwater::service {

/// Readings and pumps' reports, each in the order of the message.
struct Measurements {
  std::vector<Reading> readings{};
  std::vector<feeding::DoseReport> reports{};
  /// Sensors' own times in live messages, as witnesses for the clock.
  std::vector<std::pair<SensorId, Instant>> witnesses{};

  bool empty() const { return readings.empty() && reports.empty(); }
};

}  // namespace plainwater::service
