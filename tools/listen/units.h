// In which unit numbers are sent: by the range that air has, and by what the other sensors say.
#pragma once

#include <optional>
#include <vector>

#include "settings/settings.h"

namespace plainwater::listen {

enum class Sure { doubtful, likely, sure };

/// How numbers become °C, as the settings say it: from the unit, then times the scale.
struct Reckoned {
  Unit unit = Unit::celsius;
  double scale = 1;
  double celsius(double number) const;
  bool operator==(const Reckoned&) const = default;
};

struct TemperatureUnit {
  Reckoned chosen{};
  std::optional<Reckoned> other{};  ///< the next best, where it is not far behind
  Sure sure = Sure::doubtful;
  double celsius = 0;  ///< median of the numbers, as chosen
};

/// The likeliest way to read these numbers as air of a greenhouse or its garden. `told`: the unit,
/// where payload or name give it. `others_c`: what the other sensors say, °C. None: no way gives a
/// temperature of air. Power-on values (85, -127) count only where there is nothing else.
std::optional<TemperatureUnit> temperature_unit(const std::vector<double>& numbers,
                                                std::optional<Unit> told,
                                                std::optional<double> others_c);

struct HumidityUnit {
  double scale = 1;  ///< times it: %RH
  Sure sure = Sure::doubtful;
};
/// `percent`, `fraction`: as payload or name say. None: no humidity.
std::optional<HumidityUnit> humidity_unit(const std::vector<double>& numbers, bool percent,
                                          bool fraction);

/// Median; 0 of nothing.
double middle_of(std::vector<double> numbers);

}  // namespace plainwater::listen
