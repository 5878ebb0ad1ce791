// The weather outside Tern Bank (52.2 N, 2.1 W): monthly means, a daily course, fronts that last
// for days, and the story's front. A pure function of time and seed.
#pragma once

#include "common/instant.h"
#include "plainwater-sim/noise.h"

namespace plainwater::sim {

struct Air {
  double temperature_c = 0;
  double humidity_rh = 0;  ///< %RH, 0..100
};

/// An instant in the site's mean solar time.
struct SolarTime {
  std::int64_t day = 0;  ///< days since 1970
  double hour = 0;       ///< 0..24
  unsigned month = 1, day_of_month = 1;
  double day_of_year = 0;  ///< 0..366

  /// True from `month`/`day` on until before `end_month`/`end_day`; may span new year.
  bool between(unsigned from_month, unsigned from_day, unsigned end_month, unsigned end_day) const;
};
SolarTime solar_time(Instant t);

class Weather {
 public:
  explicit Weather(Noise noise) : noise_(noise) {}
  Air air(Instant t) const;
  double temperature_c(Instant t) const;
  /// Sunlight on glass: 0 at night, 1 under a clear sky with the sun overhead.
  double sunlight(Instant t) const;

 private:
  double fronts_c(const SolarTime& t) const;
  double passing_c(Instant t) const;
  Noise noise_;
};

}  // namespace plainwater::sim
