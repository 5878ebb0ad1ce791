// Decodes a pump's message into reported doses, by an entry of `pump_reports`. Pure, like
// payload.h.
//
//   Payload payload(message.payload);
//   for (const PumpReport* mapping : catalogue.reports(message.topic)) {
//     const DecodedDoses d = decode_doses(payload, *mapping);
//     for (const ReportedDose& dose : d.reports) …      // see arrival.h for the time to use
//     if (d.refusal) refusals.count(*d.refusal, message.topic);
//   }
#pragma once

#include <optional>
#include <vector>

#include "intake/payload.h"
#include "intake/refusals.h"
#include "settings/settings.h"

namespace plainwater::intake {

// Limits for a report. All but the water's temperature start at 0.
inline constexpr double kMostLitres = 100'000;     ///< L since the previous report
inline constexpr double kMostFeedMl = 10'000'000;  ///< mL since the previous report
inline constexpr double kMostTotal = 1e9;  ///< L or mL; a double still resolves a millionth of it
inline constexpr double kMostEc = 20;      ///< mS/cm
inline constexpr double kColdestWater = -5, kHottestWater = 100;  ///< °C

/// A decoded report, converted and rounded to 1e-6; see feeding/dose_report.h.
struct ReportedDose {
  std::optional<double> litres{}, litres_total{}, feed_ml{}, feed_ml_total{};
  std::optional<double> strength_percent{};
  std::optional<double> ec{}, runoff_ec{};  ///< mS/cm
  std::optional<double> water_c{};          ///< °C
  std::optional<Instant> time{};            ///< the report's own
  Span from_arrival{
      0};  ///< only without an own time: added to the arrival time (SenML relative time)

  bool operator==(const ReportedDose&) const = default;
};

struct DecodedDoses {
  std::vector<ReportedDose> reports;  ///< in order of time; each has more than a temperature
  std::optional<Refusal>
      refusal;  ///< why the first unusable part was refused; `reports` are valid all the same

  bool operator==(const DecodedDoses&) const = default;
};

/// Decodes what the mapping names. Absent or null fields are no fault while at least one is there.
/// An own time that cannot be read refuses the whole payload. Scales apply after units. A SenML
/// pack gives a report for each time in it; of two records with one name and time the first counts.
/// SenML units: `l` and `m3` for water and feed, `S/m` for EC, `/`, `/100` and `%` for strength,
/// `Cel` and `K`; a record without a unit, or with `count`, uses the mapping's.
DecodedDoses decode_doses(Payload& payload, const PumpReport& mapping);

}  // namespace plainwater::intake
