// One measured value, as all rooms pass it on.
#pragma once

#include <cmath>
#include <compare>
#include <cstdint>

#include "common/instant.h"

namespace plainwater {

/// Index of a sensor in `Settings::sensors`.
enum class SensorId : std::uint32_t {};
constexpr std::size_t index(SensorId s) { return static_cast<std::size_t>(s); }

enum class Quantity : std::uint8_t {
  temperature = 0,  ///< °C
  humidity = 1,     ///< relative humidity, %RH
  place = 2,        ///< what a contact reports: 0 indoors, 1 (1000 thousandths) outdoors
};

/// Fixed point, thousandths of the unit: 21.375 °C is 21375. Whole numbers keep sums, snapshots and
/// the journal exact; a thousandth is far below any sensor's accuracy.
using Milli = std::int32_t;
constexpr double from_milli(Milli m) { return static_cast<double>(m) / 1000.0; }
/// Nearest thousandth, halves away from zero; the value must be finite and within ±2e6.
inline Milli to_milli(double value) { return static_cast<Milli>(std::llround(value * 1000.0)); }

struct Reading {
  SensorId sensor{};
  Quantity quantity = Quantity::temperature;
  Instant time{};  ///< when it was measured
  Milli value = 0;

  auto operator<=>(const Reading&) const = default;
};

}  // namespace plainwater
