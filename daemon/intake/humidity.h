// Humidity readings at the ends of the range.
#pragma once

#include <algorithm>
#include <cstdlib>

#include "common/reading.h"

namespace plainwater::intake {

/// Good humidity sensors are off by 2 to 5 %RH, most of all in wet air: readings this far below dry
/// or above saturated air are within tolerance and mean 0 or 100.
inline constexpr Milli kHumidityTolerance = 5'000, kSaturated = 100'000;

/// Thousandths of %RH. Readings further out are left unchanged, to be refused: no air is like that.
inline Milli within_tolerance(Milli humidity) {
  const Milli nearest = std::clamp<Milli>(humidity, 0, kSaturated);
  return std::abs(humidity - nearest) <= kHumidityTolerance ? nearest : humidity;
}

}  // namespace plainwater::intake
