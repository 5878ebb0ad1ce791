// Checks a pump's report against what it was allowed to give: by the strength that it states, by
// the stock it used, and by the measured EC.
#pragma once

#include "feeding/dose.h"
#include "feeding/pump_counters.h"

namespace plainwater::feeding {

/// What a report can be judged by; bits.
enum Channel : std::uint8_t { kByStrength = 1, kByStock = 2, kByEc = 4 };
inline constexpr std::uint8_t kByMoment =
    kByStrength | kByEc;  ///< of the report's own moment, not since the previous report

/// What was allowed for one report, percent of full. Stock from a counter was given since the
/// previous total; strength and conductivity belong to the report's own time. Conductivity has its
/// own bounds, because the line may still hold the earlier strength.
struct DoseBounds {
  int stock_least = 0, stock_most = 0;
  int least = 0, most = 0;
  int line_least = 0, line_most = 0;
};

struct DoseCheck {
  std::uint8_t judged = 0, over = 0, under = 0;  ///< channels; `under` is 0 when any is over
  const char* by = "";  ///< "strength", "stock" or "ec": the first that was over, or under
  double ec25 = 0;      ///< measured, at 25 °C; NaN when not measured or not convertible to 25 °C
  double expected_ec = 0;     ///< at `line_most`; NaN unknown
  double expected_ml = 0;     ///< stock at `stock_most` in the litres given; NaN unknown
  bool over_refusal = false;  ///< measured above the refusal EC
};

/// mS/cm at 25 °C, by the linear 2 % per kelvin that meters use for dilute solutions (ISO 7888);
/// NaN when nothing was measured, or when an uncompensated value comes without the water's
/// temperature.
double ec_at_25(const DoseReport& report);
/// How far measured conductivity may be off, mS/cm: at least 0.1 whatever the settings say, since
/// no cheap meter is better.
double ec_tolerance(const Pump& pump);

/// When the report says that no water went out, the probe stands in old water and its conductivity
/// is ignored, unless it exceeds the refusal limit: such water should be nowhere. More than a
/// meter's error above that limit is always too much.
DoseCheck check_dose(const DoseReport& report, const Given& given, const DoseBounds& bounds,
                     const Pump& pump, const std::optional<FullStrength>& full,
                     std::optional<double> water_ec, const DoseLimits& limits);

}  // namespace plainwater::feeding
