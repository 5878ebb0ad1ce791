// Faults on request: which sensor fails, how, and when.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"
#include "plainwater-sim/sensors.h"

namespace plainwater::sim {

struct Fault {
  enum class Kind {
    stuck,       ///< repeats its last value
    silent,      ///< sends nothing
    spikes,      ///< one report in ten is far off
    fahrenheit,  ///< sends °F where °C is expected
    drift,       ///< 0.25 °C a day too warm, growing
  };
  Kind kind = Kind::silent;
  const Sensor* sensor = nullptr;
  Instant from{}, until{};
};

/// Parses "stuck:mist-b:2026-11-03/2026-11-10": kind, sensor, first day, day of repair (UTC).
/// Errors say what is allowed there.
Result<Fault> parse_fault(std::string_view text);

class Faults {
 public:
  Faults(std::vector<Fault> faults, Noise noise)
      : faults_(std::move(faults)), held_(faults_.size()), noise_(noise) {}
  /// The report as the faulty sensor sends it; none when it is silent.
  std::optional<Report> apply(Report report);

 private:
  std::vector<Fault> faults_;
  std::vector<std::optional<Report>> held_;  ///< the values that stuck sensors repeat
  Noise noise_;
};

/// Parses "2026-08-01" or an RFC 3339 time; a date means its midnight in UTC.
Result<Instant> parse_day_or_time(std::string_view text);

}  // namespace plainwater::sim
