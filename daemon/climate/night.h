// Figures of a bench's night and the day before it: pure functions of a sorted set of readings.
#pragma once

#include <limits>
#include <vector>

#include "common/instant.h"

namespace plainwater::climate {

inline constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

/// Bench air at one time, after fusion of its trusted sensors.
struct Air {
  Instant time{};
  double value = 0;  ///< °C or %RH
};

/// A summary of the time between two instants.
struct Stretch {
  double coverage = 0;     ///< share of the time that readings cover, 0..1
  double mean = kUnknown;  ///< time-weighted, without the lowest and highest tenth of the time
  double minimum = kUnknown;
  double maximum = kUnknown;
};

/// Summarises the values within [from, to). A value covers the time nearer to it than to its
/// neighbours, at most `reach` to either side: so a gap counts as covered up to 2 × reach.
Stretch sum_up(const std::vector<Air>& values, Instant from, Instant to, Span reach);

/// One cycle of a bench: a day, then the night.
struct BenchNight {
  Stretch temperature;        ///< of the night, °C
  Stretch day;                ///< of the day before it, °C
  double mean_rh = kUnknown;  ///< %RH, for the night
  double vpd_kpa = kUnknown;  ///< from the night's means
  bool suspect = false;       ///< all its readings come from doubted sensors
};

}  // namespace plainwater::climate
