#include "feeding/dose_check.h"

#include <cmath>
#include <limits>

namespace plainwater::feeding {
namespace {

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();
constexpr double kPerKelvin = 0.02;  // ISO 7888's linear compensation
/// mL of stock that a meter may count while none flows.
constexpr double kDrops_ml = 0.5;
/// Points of percent that a pump may say beside 0.
constexpr double kNothing_percent = 0.5;
/// Never tighter than this, whatever the settings say: no cheap meter is better.
constexpr double kLeastEcTolerance = 0.1;

void find(DoseCheck& check, bool over, bool under, const char* by) {
  check.judged = true;
  if ((over && !check.over) || (under && !check.over && !check.under)) check.by = by;
  check.over = check.over || over;
  check.under = check.under || under;
}

}  // namespace

double ec_at_25(const DoseReport& report) {
  if (!report.ec) return kUnknown;
  if (report.ec_compensated) return *report.ec;
  return report.water_c ? *report.ec / (1 + kPerKelvin * (*report.water_c - 25)) : kUnknown;
}

DoseCheck check_dose(const DoseReport& report, const Given& given, const DoseBounds& bounds, const Pump& pump, const std::optional<FullStrength>& full,
                     std::optional<double> water_ec, const DoseLimits& limits) {
  DoseCheck check;
  check.ec25 = ec_at_25(report);
  check.expected_ec = check.expected_ml = kUnknown;
  const auto dose = [&](int percent) { return dose_at(*full, percent, limits); };

  if (report.strength_percent) {
    const double said = *report.strength_percent;
    const double tolerance = pump.strength_tolerance;
    find(check, said > bounds.most + (bounds.most == 0 ? kNothing_percent : tolerance), said < bounds.least - tolerance, "strength");
  }
  if (given.feed_ml && (bounds.most == 0 || (full && given.litres))) {
    const double share = pump.feed_tolerance_percent / 100;
    const double most_ml = bounds.most == 0 ? 0 : dose(bounds.most).ml_per_litre * *given.litres;
    const double least_ml = bounds.least == 0 || !given.litres ? 0 : dose(bounds.least).ml_per_litre * *given.litres;
    check.expected_ml = most_ml;
    find(check, *given.feed_ml > most_ml * (1 + share) + kDrops_ml, *given.feed_ml < least_ml * (1 - share) - kDrops_ml, "stock");
  }
  const bool fed_known = full || bounds.line_most == 0;
  if (!std::isnan(check.ec25)) {
    check.over_refusal = check.ec25 > limits.refusal_ec;
    if (water_ec && fed_known) {
      const double tolerance = std::max(pump.ec_tolerance, kLeastEcTolerance);
      check.expected_ec = bounds.line_most == 0 ? *water_ec : dose(bounds.line_most).ec;
      const double least_ec = bounds.line_least == 0 ? *water_ec : dose(bounds.line_least).ec;
      find(check, check.ec25 > check.expected_ec + tolerance, check.ec25 < least_ec - tolerance, "ec");
    } else if (check.over_refusal) {
      find(check, true, false, "ec");
    }
  }
  return check;
}

}  // namespace plainwater::feeding
