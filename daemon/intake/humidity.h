// Humidity as sensors tell it in wet air.
#pragma once

#include <algorithm>
#include <cstdlib>

#include "common/reading.h"

namespace plainwater::intake {

/// Good humidity sensors are off by 2 to 5 %RH, most of all in wet air: so much beyond dry or
/// saturated air is their tolerance and means 0 or 100.
inline constexpr Milli kHumidityTolerance = 5'000, kSaturated = 100'000;

/// Thousandths of %RH. What lies further out stays as it is: such air cannot be.
inline Milli within_tolerance(Milli humidity) {
  const Milli nearest = std::clamp<Milli>(humidity, 0, kSaturated);
  return std::abs(humidity - nearest) <= kHumidityTolerance ? nearest : humidity;
}

}  // namespace plainwater::intake
