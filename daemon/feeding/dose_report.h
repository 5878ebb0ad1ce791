// What a pump, or a person with a can, says was given. What was not told is empty.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "common/instant.h"

namespace plainwater::feeding {

/// Numbers are rounded to 1e-6 where they enter. Litres and millilitres are what was given since
/// the report before, unless they are totals: those count up from the pump's own beginning, and
/// start again at 0 when it is reset.
struct DoseReport {
  std::string pump;    ///< name
  std::string bench;   ///< empty: all benches of the pump, shared out
  std::string source;  ///< whose report: with `time` what tells a repetition from a new one
  Instant time{};      ///< the end of what it tells of
  std::optional<Instant> began;  ///< of the watering that it tells of, when that took a while
  std::optional<double> litres;  ///< water, L
  std::optional<double> litres_total;
  std::optional<double> feed_ml;  ///< feed stock, mL
  std::optional<double> feed_ml_total;
  std::optional<double> strength_percent;       ///< of full, as the pump says it gave, 0..100
  std::optional<double> ec;                     ///< of what went out, mS/cm
  bool ec_compensated = true;                   ///< `ec` is at 25 °C; else at `water_c`
  std::optional<double> water_c;                ///< °C
  std::optional<double> runoff_ec;              ///< of what drained, mS/cm at 25 °C
  std::optional<std::int64_t> epoch, sequence;  ///< of the order that the pump says it followed

  bool operator==(const DoseReport&) const = default;
};

/// What became of a report.
enum class TakenDose : std::uint8_t {
  used,
  repeated,  ///< the same source and time again
  history,   ///< too old for the orders of then to be known; nothing was judged or counted
  unknown,   ///< a pump or bench that the settings do not know
};

}  // namespace plainwater::feeding
