// Faults on request: what goes wrong with which sensor, from when until when.
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
    stuck,       ///< shows its last value on and on
    silent,      ///< says nothing
    spikes,      ///< one report in ten is far off
    fahrenheit,  ///< shows °F where °C is expected
    drift,       ///< 0.25 °C a day too warm, growing
  };
  Kind kind = Kind::silent;
  const Sensor* sensor = nullptr;
  Instant from{}, until{};
};

/// "stuck:mist-b:2026-11-03/2026-11-10": kind, sensor, first day, day of repair (UTC). Errors say
/// what may stand there.
Result<Fault> parse_fault(std::string_view text);

class Faults {
 public:
  Faults(std::vector<Fault> faults, Noise noise)
      : faults_(std::move(faults)), held_(faults_.size()), noise_(noise) {}
  /// The report as the faulty sensor gives it; none when it is silent.
  std::optional<Report> apply(Report report);

 private:
  std::vector<Fault> faults_;
  std::vector<std::optional<Report>> held_;  ///< what a stuck sensor shows
  Noise noise_;
};

/// "2026-08-01" or an RFC 3339 time; a date is its midnight in UTC.
Result<Instant> parse_day_or_time(std::string_view text);

}  // namespace plainwater::sim
