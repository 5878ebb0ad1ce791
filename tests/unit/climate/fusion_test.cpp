// Fusion of several sensors, and detection of slow drift.
#include "climate/fusion.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "common/statistics.h"
#include "start.h"

using namespace plainwater;
using namespace plainwater::climate;

namespace {
Air at(int minute, double value) { return {kStart + minutes(minute), value}; }
}  // namespace

TEST_CASE("A single sensor is passed through") {
  const std::vector<Air> one = {at(0, 18), at(60, 17)};
  const auto fused = fuse({one}, minutes(45));
  REQUIRE(fused.size() == 2);
  CHECK(fused[1].value == 17);
}

TEST_CASE("The median of the reporting sensors, at each time when one reported") {
  const auto fused =
      fuse({{at(0, 18), at(60, 18)}, {at(0, 20), at(60, 20)}, {at(5, 30)}}, minutes(45));
  REQUIRE(fused.size() == 3);
  CHECK(fused[0].time == kStart);
  CHECK(fused[0].value == 19);
  CHECK(fused[1].value == 20);  // 18, 20, 30
  CHECK(fused[2].value == 19);  // the third has been silent for too long
}

TEST_CASE("A reading counts for exactly the given time") {
  const auto fused = fuse({{at(0, 10)}, {at(45, 20), at(46, 20)}}, minutes(45));
  REQUIRE(fused.size() == 3);
  CHECK(fused[1].value == 15);
  CHECK(fused[2].value == 20);
}

TEST_CASE("One wild sensor of five does not move the bench") {
  std::vector<std::vector<Air>> five(5);
  for (int s = 0; s < 5; ++s)
    for (int m = 0; m < 600; m += 10)
      five[static_cast<std::size_t>(s)].push_back(at(m + s, s == 2 ? 55 : 18 + 0.1 * s));
  for (const Air& air : fuse(five, minutes(45))) CHECK(std::abs(air.value - 18.2) <= 0.2);
}

TEST_CASE("A sensor's usual offset is known after three nights") {
  DriftWatch d;
  CHECK(std::isnan(d.usual_offset_c()));
  CHECK(d.off_c(9) == 0);
  for (const double off : {0.4, 0.6, 0.5}) CHECK(d.take(off, 2));
  CHECK(d.usual_offset_c() == 0.5);
  CHECK(d.off_c(3.5) == 3);
}

TEST_CASE("Two nights off by the limit, or one by twice that, count as drift") {
  DriftWatch d;
  for (int i = 0; i < 14; ++i) d.take(0, 2);
  CHECK_FALSE(d.take(2.5, 2));
  CHECK_FALSE(d.strays(2.5, 2));
  CHECK_FALSE(d.take(2.5, 2));
  CHECK(d.strays(2.5, 2));
  CHECK(d.take(0.3, 2));  // back among the others
  CHECK(d.nights_off == 0);
  CHECK_FALSE(d.take(-4.1, 2));
  CHECK(d.strays(4.1, 2));
}

TEST_CASE("Of five sensors exactly the slowly drifting one is found") {
  std::vector<DriftWatch> watch(5);
  int found = -1;
  for (int night = 0; night < 60; ++night) {
    std::vector<double> means;
    for (int s = 0; s < 5; ++s)
      means.push_back(15 + 0.2 * s + (s == 3 && night > 14 ? 0.1 * (night - 14) : 0));
    for (std::size_t s = 0; s < 5; ++s) {
      std::vector<double> mates;
      for (std::size_t k = 0; k < 5; ++k)
        if (k != s) mates.push_back(means[k]);
      const double offset = means[s] - median(mates), off = watch[s].off_c(offset);
      watch[s].take(offset, 2);
      if (!watch[s].strays(off, 2)) continue;
      CHECK(s == 3);
      if (found < 0) found = night;
    }
  }
  // 0.1 °C a night for 20 nights is the limit; one more night to be sure.
  CHECK(found >= 34);
  CHECK(found <= 37);
}
