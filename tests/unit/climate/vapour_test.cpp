// Water vapour compared with published values.
#include "climate/vapour.h"

#include <catch2/catch.hpp>

using namespace plainwater::climate;

TEST_CASE("Air of 20 °C and 50 %RH") {
  CHECK(vapour_pressure_deficit_kpa(20, 50) == Approx(1.167).margin(0.0005));
  CHECK(dew_point_c(20, 50) == Approx(9.26).margin(0.005));
  CHECK(absolute_humidity_gm3(20, 50) == Approx(8.62).margin(0.005));
}

TEST_CASE("Saturation pressure at known temperatures") {
  CHECK(saturation_pressure_kpa(0) == Approx(0.6112).epsilon(0.003));
  CHECK(saturation_pressure_kpa(10) == Approx(1.2281).epsilon(0.003));
  CHECK(saturation_pressure_kpa(30) == Approx(4.2455).epsilon(0.003));
  CHECK(saturation_pressure_kpa(45) == Approx(9.5944).epsilon(0.003));
}

TEST_CASE("Saturated air has no deficit and is at its dew point") {
  for (const double t : {-10.0, 0.0, 15.0, 40.0}) {
    CHECK(vapour_pressure_deficit_kpa(t, 100) == Approx(0).margin(1e-12));
    CHECK(dew_point_c(t, 100) == Approx(t).margin(1e-9));
  }
}

TEST_CASE("Dry air has a dew point too") {
  CHECK(dew_point_c(20, 0) == dew_point_c(20, 0.1));
  CHECK(dew_point_c(20, 0) < -50);
  CHECK(absolute_humidity_gm3(20, 0) == 0);
}
