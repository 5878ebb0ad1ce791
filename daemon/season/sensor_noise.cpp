#include "season/sensor_noise.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"

namespace plainwater::season {
namespace {

constexpr double kGood_c = 0.25, kWorst_c = 0.7;
constexpr double kOfTheSensor = 0.8;  // the rest is the air's: gusts, clouds
constexpr double kRestless_h = 12;
constexpr double kLongestStep_h = 16.0 / 60;
constexpr double kMostBend_c = 2;  // more is a move or a glitch

}  // namespace

void SensorNoise::take(double bench_c, double step_h) {
  if (step_h > kLongestStep_h) last_c_ = before_c_ = kNone;
  if (!std::isnan(before_c_)) {
    const double bend_c = std::min(std::abs(last_c_ - (bench_c + before_c_) / 2), kMostBend_c);
    restless_c_ =
        rounded(restless_c_ + (bend_c - restless_c_) * (1 - std::exp(-step_h / kRestless_h)));
  }
  before_c_ = last_c_;
  last_c_ = bench_c;
}

double SensorNoise::noise_c() const {
  return std::clamp(kOfTheSensor * restless_c_, kGood_c, kWorst_c);
}

}  // namespace plainwater::season
