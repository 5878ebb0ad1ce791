// A bench's night and the day before it, as figures: pure functions of a sorted set of readings.
#pragma once

#include <limits>
#include <vector>

#include "common/instant.h"

namespace plainwater::climate {

inline constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

/// Bench air at a time, after fusion of its trusted sensors.
struct Air {
  Instant time{};
  double value = 0;  ///< °C or %RH
};

/// A stretch between two instants, summed up.
struct Stretch {
  double coverage = 0;     ///< share of the time that readings speak for, 0..1
  double mean = kUnknown;  ///< time-weighted, without the lowest and highest tenth of the time
  double minimum = kUnknown;
  double maximum = kUnknown;
};

/// Sums up the values within [from, to). A value speaks for the time nearer to it than to its
/// neighbours, at most `reach` to either side: so a gap counts as covered up to 2 × reach.
Stretch sum_up(const std::vector<Air>& values, Instant from, Instant to, Span reach);

/// One cycle of a bench: the day, then the night.
struct BenchNight {
  Stretch temperature;        ///< of the night, °C
  Stretch day;                ///< of the day before it, °C
  double mean_rh = kUnknown;  ///< %RH of the night
  double vpd_kpa = kUnknown;  ///< of the night's means
  bool suspect = false;       ///< all that speaks for it comes from doubted sensors
};

}  // namespace plainwater::climate
