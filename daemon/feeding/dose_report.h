// What a pump, or a person with a can, says was given. What they left out is empty.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "common/instant.h"

namespace plainwater::feeding {

/// Numbers are rounded to 1e-6 on entry. Litres and millilitres are what was given since the
/// previous report, unless they are totals: those count up from the pump's first use and start
/// again at 0 when it is reset.
struct DoseReport {
  std::string pump;              ///< name
  std::string bench;             ///< empty: shared among all benches of the pump
  std::string source;            ///< who reported; source and `time` together identify a repetition
  Instant time{};                ///< the end of the period that it covers
  std::optional<Instant> began;  ///< start of the watering, if that took a while
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
  history,   ///< so old that its orders are no longer known; neither judged nor counted
  unknown,   ///< a pump or bench that is not in the settings
};

}  // namespace plainwater::feeding
