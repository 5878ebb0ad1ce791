// What the bench's own vapour says about its having been carried.
#include "season/bench_vapour.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "climate/vapour.h"

using namespace plainwater;
using namespace plainwater::season;

namespace {

struct MoistAir {
  BenchVapour vapour;
  Instant now = *parse_rfc3339("2026-04-01T12:00:00Z");
  double kpa = 1.0, bench_c = 20;
  int looks = 0;

  double humidity() const { return 100 * kpa / climate::saturation_pressure_kpa(bench_c); }
  double look(double rh) {
    now += minutes(10);
    ++looks;
    return vapour.take(bench_c, rh, now, 1.0 / 6);
  }
  double look() { return look(humidity() + (looks % 2 == 0 ? 0.3 : -0.3)); }
  void run(int n) {
    for (int i = 0; i < n; ++i) look();
  }
};

}  // namespace

TEST_CASE("Nothing is said without a humidity, nor by the first one") {
  MoistAir air;
  CHECK(air.look(std::numeric_limits<double>::quiet_NaN()) == 0);
  CHECK(air.look(50) == 0);
}

TEST_CASE("Air that keeps its vapour speaks a little against a move, also while the sun warms it") {
  MoistAir air;
  air.run(20);
  CHECK(air.look() < 0);
  CHECK(air.look() >= -1);
  for (int i = 0; i < 12; ++i) {
    air.bench_c += 0.5;
    CHECK(air.look() < 0);
  }
}

TEST_CASE("Another air's vapour speaks for a move, drier or moister, within bounds") {
  const double other = GENERATE(0.4, 0.65, 1.5, 2.2);
  INFO(other << " kPa");
  MoistAir air;
  air.run(20);
  air.kpa = other;
  const double first = air.look();
  CHECK(first > 1);
  CHECK(first <= 5);
  air.run(12);
  CHECK(air.look() < 0);  // it is known now
}

TEST_CASE("A humidity that is stuck or that no air has says nothing") {
  MoistAir air;
  air.run(20);
  for (int i = 0; i < 18; ++i) air.look(50);
  air.bench_c = 12;  // of a stuck humidity this would make another vapour
  CHECK(air.look(50) == 0);
  CHECK(air.look(1) == 0);
  CHECK(air.look(104) == 0);
  CHECK(air.look(-3) == 0);
  air.kpa = 0.6;
  air.run(6);
  CHECK(air.look() < 0);  // it speaks again
}

TEST_CASE("After a long silence a change says less") {
  MoistAir soon, late;
  soon.run(20);
  late.run(20);
  soon.kpa = late.kpa = 1.5;
  late.now += kDay;
  const double at_once = soon.look();
  const double after_a_day = late.vapour.take(late.bench_c, late.humidity(), late.now, 24);
  CHECK(after_a_day < at_once);
}
