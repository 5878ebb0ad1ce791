// From the bytes of a pump's message to what it says was given, by an entry of `pump_reports`.
// Pure, as payload.h.
//
//   Payload payload(message.payload);
//   for (const PumpReport* mapping : catalogue.reports(message.topic)) {
//     const DecodedDoses d = decode_doses(payload, *mapping);
//     for (const ToldDose& told : d.reports) …      // see arrival.h for the time to use
//     if (d.refusal) refusals.count(*d.refusal, message.topic);
//   }
#pragma once

#include <optional>
#include <vector>

#include "intake/payload.h"
#include "intake/refusals.h"
#include "settings/settings.h"

namespace plainwater::intake {

// What a report may say. All but the water's temperature begin at 0.
inline constexpr double kMostLitres = 100'000;     ///< L since the report before
inline constexpr double kMostFeedMl = 10'000'000;  ///< mL since the report before
inline constexpr double kMostTotal = 1e9;  ///< L or mL; a millionth of it is still told apart
inline constexpr double kMostEc = 20;      ///< mS/cm
inline constexpr double kColdestWater = -5, kHottestWater = 100;  ///< °C

/// What was told, converted and rounded to 1e-6; see feeding/dose_report.h.
struct ToldDose {
  std::optional<double> litres{}, litres_total{}, feed_ml{}, feed_ml_total{};
  std::optional<double> strength_percent{};
  std::optional<double> ec{}, runoff_ec{};  ///< mS/cm
  std::optional<double> water_c{};          ///< °C
  std::optional<Instant> time{};            ///< the report's own
  Span from_arrival{
      0};  ///< only without an own time: added to the arrival time (SenML relative time)

  bool operator==(const ToldDose&) const = default;
};

struct DecodedDoses {
  std::vector<ToldDose>
      reports;  ///< in the order of their times; each tells more than a temperature
  std::optional<Refusal>
      refusal;  ///< the first thing present that could not be used; `reports` stand all the same

  bool operator==(const DecodedDoses&) const = default;
};

/// What the mapping finds in the payload. What is missing (absent or null) is no fault while
/// something is there. An own time that cannot be read refuses the payload. Scales apply after
/// units. A SenML pack gives a report for each time in it; of two records of one name and time the
/// first stands. SenML units: `l` and `m3` for water and feed, `S/m` for EC,
/// `/`, `/100` and `%` for strength, `Cel` and `K`; a record without a unit, or `count`, is read in
/// the mapping's.
DecodedDoses decode_doses(Payload& payload, const PumpReport& mapping);

}  // namespace plainwater::intake
