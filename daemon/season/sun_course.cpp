#include "season/sun_course.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"

namespace plainwater::season {
namespace {

constexpr double kZenith_c = 20;    // final warming by a sun overhead, °C
constexpr double kLoses_h = 4;      // time constant of cooling
constexpr double kUsualSun_h = 96;  // memory of the usual warmth

}  // namespace

void RunningMean::take(double value, double step_h, double memory_h) {
  hours = rounded(std::min(hours + step_h, 1e6));
  const double share = std::max(1 - std::exp(-step_h / memory_h), std::min(1.0, step_h / hours));
  mean = rounded(mean + (value - mean) * share);
}

void SunCourse::take(double sun, double step_h) {
  const double drawn_to_c = kZenith_c * std::max(0.0, sun);
  warmed_c_ = rounded(warmed_c_ + (drawn_to_c - warmed_c_) * (1 - std::exp(-step_h / kLoses_h)));
  usually_.take(warmed_c_, step_h, kUsualSun_h);
}

}  // namespace plainwater::season
