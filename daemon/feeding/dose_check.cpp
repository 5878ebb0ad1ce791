#include "feeding/dose_check.h"

#include <cmath>

#include "climate/night.h"

namespace plainwater::feeding {
namespace {

constexpr double kPerKelvin = 0.02;  // ISO 7888's linear compensation
/// mL of stock that a meter may count although none flows.
constexpr double kDrops_ml = 0.5;
/// Percentage points that a pump may report and still mean 0.
constexpr double kNothing_percent = 0.5;
constexpr double kLeastEcTolerance = 0.1;

const char* name_of(std::uint8_t channels) {
  if (channels & kByStrength) return "strength";
  if (channels & kByStock) return "stock";
  return channels & kByEc ? "ec" : "";
}

void find(DoseCheck& check, bool over, bool under, Channel by) {
  check.judged |= by;
  if (over) check.over |= by;
  if (under) check.under |= by;
}

}  // namespace

double ec_at_25(const DoseReport& report) {
  if (!report.ec) return climate::kUnknown;
  if (report.ec_compensated) return *report.ec;
  return report.water_c ? *report.ec / (1 + kPerKelvin * (*report.water_c - 25))
                        : climate::kUnknown;
}

double ec_tolerance(const Pump& pump) { return std::max(pump.ec_tolerance, kLeastEcTolerance); }

DoseCheck check_dose(const DoseReport& report, const Given& given, const DoseBounds& bounds,
                     const Pump& pump, const std::optional<FullStrength>& full,
                     std::optional<double> water_ec, const DoseLimits& limits) {
  DoseCheck check;
  check.ec25 = ec_at_25(report);
  check.expected_ec = check.expected_ml = climate::kUnknown;
  const auto dose = [&](int percent) { return dose_at(*full, percent, limits); };
  const bool flowed = !given.litres || *given.litres > 0;

  if (report.strength_percent) {
    const double said = *report.strength_percent;
    const double tolerance = pump.strength_tolerance;
    find(check, said > bounds.most + (bounds.most == 0 ? kNothing_percent : tolerance),
         flowed && said < bounds.least - tolerance, kByStrength);
  }
  if (given.feed_ml && (bounds.stock_most == 0 || (full && given.litres))) {
    const double share = pump.feed_tolerance_percent / 100;
    const double most_ml =
        bounds.stock_most == 0 ? 0 : dose(bounds.stock_most).ml_per_litre * *given.litres;
    const double least_ml = bounds.stock_least == 0 || !given.litres
                                ? 0
                                : dose(bounds.stock_least).ml_per_litre * *given.litres;
    check.expected_ml = most_ml;
    find(check, *given.feed_ml > most_ml * (1 + share) + kDrops_ml,
         *given.feed_ml < least_ml * (1 - share) - kDrops_ml, kByStock);
  }
  const bool fed_known = full || bounds.line_most == 0;
  if (!std::isnan(check.ec25)) {
    check.over_refusal = check.ec25 > limits.refusal_ec + kLeastEcTolerance;
    if (check.over_refusal) find(check, true, false, kByEc);
    if (flowed && water_ec && fed_known) {
      check.expected_ec = bounds.line_most == 0 ? *water_ec : dose(bounds.line_most).ec;
      // Plain water purer than the settings say is not too weak a feed.
      const bool weak =
          bounds.line_least > 0 && check.ec25 < dose(bounds.line_least).ec - ec_tolerance(pump);
      find(check, check.ec25 > check.expected_ec + ec_tolerance(pump), weak, kByEc);
    }
  }
  if (check.over) check.under = 0;
  check.by = name_of(check.over ? check.over : check.under);
  return check;
}

}  // namespace plainwater::feeding
