// Whether what a pump reports fits what it might give: by what it says, by its stock, by what was measured.
#pragma once

#include "feeding/dose.h"
#include "feeding/pump_counters.h"

namespace plainwater::feeding {

/// One report against the strengths from `least` to `most` percent of full. Conductivity has bounds of its own, because
/// the line may still hold the strength of before.
struct DoseBounds {
  int least = 0, most = 0;
  int line_least = 0, line_most = 0;
};

struct DoseCheck {
  bool judged = false;          ///< there was something to judge by
  bool over = false, under = false;
  const char* by = "";          ///< "strength", "stock" or "ec": the first that was over, or under
  double ec25 = 0;              ///< measured, at 25 °C; NaN when not, or not to be compensated
  double expected_ec = 0;       ///< at `most`; NaN unknown
  double expected_ml = 0;       ///< stock at `most` in the litres given; NaN unknown
  bool over_refusal = false;    ///< measured above the refusal EC
};

/// mS/cm at 25 °C by the linear 2 % a kelvin that meters use for dilute solutions (ISO 7888); NaN when nothing was
/// measured, or as measured without the water's temperature.
double ec_at_25(const DoseReport& report);

DoseCheck check_dose(const DoseReport& report, const Given& given, const DoseBounds& bounds, const Pump& pump, const std::optional<FullStrength>& full,
                     std::optional<double> water_ec, const DoseLimits& limits);

}  // namespace plainwater::feeding
