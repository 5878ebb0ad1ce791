// Whether what a pump reports fits what it might give: by what it says, by its stock, by what was
// measured.
#pragma once

#include "feeding/dose.h"
#include "feeding/pump_counters.h"

namespace plainwater::feeding {

/// What a report can be judged by, as bits.
enum Channel : std::uint8_t { kByStrength = 1, kByStock = 2, kByEc = 4 };
inline constexpr std::uint8_t kByMoment =
    kByStrength | kByEc;  ///< tell of the report's own time, not of all since the one before

/// One report against what was allowed, percent of full. Stock that a counter tells was given since
/// the total before; strength and conductivity are of the report's own time. Conductivity has
/// bounds of its own, because the line may still hold the strength of before.
struct DoseBounds {
  int stock_least = 0, stock_most = 0;
  int least = 0, most = 0;
  int line_least = 0, line_most = 0;
};

struct DoseCheck {
  std::uint8_t judged = 0, over = 0, under = 0;  ///< channels; `under` is 0 when any is over
  const char* by = "";        ///< "strength", "stock" or "ec": the first that was over, or under
  double ec25 = 0;            ///< measured, at 25 °C; NaN when not, or not to be compensated
  double expected_ec = 0;     ///< at `line_most`; NaN unknown
  double expected_ml = 0;     ///< stock at `stock_most` in the litres given; NaN unknown
  bool over_refusal = false;  ///< measured above the refusal EC
};

/// mS/cm at 25 °C by the linear 2 % a kelvin that meters use for dilute solutions (ISO 7888); NaN
/// when nothing was measured, or as measured without the water's temperature.
double ec_at_25(const DoseReport& report);
/// mS/cm by which conductivity may be off: never tighter than 0.1, whatever the settings say, since
/// no cheap meter is better.
double ec_tolerance(const Pump& pump);

/// Where it is told that no water went out, conductivity says nothing, since a probe stands in old
/// water, unless it is above the refusal limit: that should stand nowhere. Above that limit, by
/// more than a meter may be off, is always too much.
DoseCheck check_dose(const DoseReport& report, const Given& given, const DoseBounds& bounds,
                     const Pump& pump, const std::optional<FullStrength>& full,
                     std::optional<double> water_ec, const DoseLimits& limits);

}  // namespace plainwater::feeding
