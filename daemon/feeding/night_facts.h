// A closed night as feeding takes it.
#pragma once

#include <cstdint>
#include <optional>

#include "climate/night.h"
#include "feeding/season_feeding.h"

namespace plainwater::feeding {

struct NightFacts {
  Instant time{};          ///< of the close
  std::int64_t night = 0;  ///< solar day
  climate::BenchNight air;
  bool counted = false;  ///< covered well enough and not suspect
  std::optional<double> deficit_c;
  bool days_shorten = false;
  bool long_days = false;  ///< the half-year with days over 12 h
  bool listened = true;    ///< false: nobody did, so that its silence says nothing of the sensors
  SeasonFacts season;
};

}  // namespace plainwater::feeding
