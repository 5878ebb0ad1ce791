#include "season/bench_vapour.h"

#include <algorithm>
#include <cmath>

#include "climate/vapour.h"
#include "common/json_text.h"

namespace plainwater::season {
namespace {

constexpr double kNoise_rh = 2.5;  // %RH, of a good sensor among leaves
constexpr double kLeast_rh = 5;    // lower readings are from a broken sensor
// Variance of the logarithm that an hour adds while the bench stays: 7 %, from people, pots and
// weather; after a long gap at most 30 %.
constexpr double kWanders = 0.005, kMostWander = 0.09;
constexpr double kOtherAir = 0.35;  // usual difference between two places' vapour, as a logarithm
constexpr double kLeast = -1, kMost = 5;
constexpr Span kStuck = hours(3);  // the same humidity to the last digit for so long
constexpr double kFreedom = 4;     // degrees of freedom: a watering can makes heavy tails

double fits(double squares, double variance) {
  return -0.5 * std::log(variance) - (kFreedom + 1) / 2 * std::log1p(squares / variance / kFreedom);
}

}  // namespace

bool BenchVapour::moves(double humidity_rh, Instant time) {
  if (humidity_rh != humidity_rh_ || changed_ == kNever) changed_ = time;
  humidity_rh_ = humidity_rh;
  return time - changed_ < kStuck;
}

double BenchVapour::take(double bench_c, double humidity_rh, Instant time, double step_h) {
  if (variance_ >= 0)
    variance_ = rounded(std::min(variance_ + std::min(kWanders * step_h, kMostWander), 1.0), 9);
  // With a stuck humidity, every change of temperature would look like one of vapour.
  if (!(humidity_rh >= kLeast_rh && humidity_rh <= 100) || !moves(humidity_rh, time)) return 0;
  const double log_kpa = std::log(climate::saturation_pressure_kpa(bench_c) * humidity_rh / 100);
  const double noise = kNoise_rh / humidity_rh, noise_variance = noise * noise;
  if (variance_ < 0) {
    log_kpa_ = rounded(log_kpa);
    variance_ = rounded(noise_variance, 9);
    return 0;
  }
  const double miss = log_kpa - log_kpa_, squares = miss * miss;
  const double stayed = variance_ + noise_variance;
  const double carried = fits(squares, stayed + kOtherAir * kOtherAir) - fits(squares, stayed);
  const double gain = variance_ / stayed;
  log_kpa_ = rounded(log_kpa_ + gain * miss);
  variance_ = rounded((1 - gain) * variance_, 9);
  return std::clamp(carried, kLeast, kMost);
}

}  // namespace plainwater::season
