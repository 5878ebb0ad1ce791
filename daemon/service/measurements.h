// What one message measured.
#pragma once

#include <utility>
#include <vector>

#include "common/reading.h"
#include "feeding/dose_report.h"

namespace plainwater::service {

/// Readings and pumps' reports, each in the message's order.
struct Measurements {
  std::vector<Reading> readings{};
  std::vector<feeding::DoseReport> reports{};
  /// Live times of sensors, which bear witness for the clock.
  std::vector<std::pair<SensorId, Instant>> witnesses{};

  bool empty() const { return readings.empty() && reports.empty(); }
};

}  // namespace plainwater::service
