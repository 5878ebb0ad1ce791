// How restless a sensor is held to be.
#include "season/sensor_noise.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace plainwater::season;

namespace {

/// A sensor with an even spread of noise of the standard deviation `sd_c` in air that moves slowly.
struct RestlessSensor {
  SensorNoise noise;
  double sd_c = 0, hour = 0;
  std::uint32_t seed = 3;

  double next() {
    seed = seed * 1664525u + 1013904223u;
    return (static_cast<double>(seed >> 8) / static_cast<double>(1u << 23) - 1) * std::sqrt(3.0);
  }
  void run(double hours, double step_h) {
    for (const double until = hour + hours; hour < until; hour += step_h)
      noise.take(15 + 6 * std::sin(hour / 24 * 6.2831853) + sd_c * next(), step_h);
  }
};

}  // namespace

TEST_CASE("A sensor is held to be good until it shows otherwise") {
  RestlessSensor calm;
  CHECK(calm.noise.noise_c() == Approx(0.25));
  calm.sd_c = 0.1;
  calm.run(72, 1.0 / 6);
  CHECK(calm.noise.noise_c() == Approx(0.25));
}

TEST_CASE("A restless sensor is learnt, up to a bound, and forgiven when it has calmed down") {
  RestlessSensor draughty, broken;
  draughty.sd_c = 0.55;
  broken.sd_c = 8;
  draughty.run(72, 1.0 / 6);
  broken.run(72, 1.0 / 6);
  CHECK(draughty.noise.noise_c() > 0.35);
  CHECK(draughty.noise.noise_c() < 0.6);
  CHECK(broken.noise.noise_c() == Approx(0.7));
  draughty.sd_c = 0.1;
  draughty.run(72, 1.0 / 6);
  CHECK(draughty.noise.noise_c() == Approx(0.25));
}

TEST_CASE("Readings an hour apart, a step and a silence teach nothing of noise") {
  RestlessSensor hourly;
  hourly.sd_c = 2;
  hourly.run(240, 1);
  CHECK(hourly.noise.noise_c() == Approx(0.25));
  SensorNoise carried;
  for (int i = 0; i < 200; ++i) carried.take(i < 100 ? 20 : 5, 1.0 / 6);
  CHECK(carried.noise_c() == Approx(0.25));
  carried.take(20, 24);
  for (int i = 0; i < 3; ++i) carried.take(20, 1.0 / 6);
  CHECK(carried.noise_c() == Approx(0.25));
}
