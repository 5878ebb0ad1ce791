// Heskel's curve by hand.
#include "season/metabolic.h"

#include <catch2/catch.hpp>
#include <cmath>

using plainwater::season::relative_metabolic_rate;

TEST_CASE("Plants at their usual night run as usual") {
  for (const double t : {-5.0, 4.0, 18.0, 44.0}) CHECK(relative_metabolic_rate(t, t) == 1);
}

TEST_CASE("At 10 °C plants used to 20 °C run at 42 %") {
  // ln R(10) = 1.012 - 0.050 = 0.962, ln R(20) = 2.024 - 0.200 = 1.824; exp(-0.862) = 0.4223
  CHECK(relative_metabolic_rate(10, 20) == Approx(0.4223).margin(0.0001));
  CHECK(relative_metabolic_rate(20, 10) == Approx(1 / 0.4223).margin(0.001));
}

TEST_CASE("Ten degrees multiply the rate by 2.5 about 10 °C, 2.25 about 20 °C, 2.0 about 30 °C") {
  CHECK(relative_metabolic_rate(15, 5) == Approx(2.5).margin(0.03));
  CHECK(relative_metabolic_rate(25, 15) == Approx(2.25).margin(0.03));
  CHECK(relative_metabolic_rate(35, 25) == Approx(2.04).margin(0.03));
}

TEST_CASE("Beyond where the fit was made the rate stands still") {
  CHECK(relative_metabolic_rate(-30, 20) == relative_metabolic_rate(-10, 20));
  CHECK(relative_metabolic_rate(60, 20) == relative_metabolic_rate(45, 20));
}

TEST_CASE("Warmer is never slower, within the fit") {
  for (int t = -10; t < 45; ++t)
    CHECK(relative_metabolic_rate(t + 1, 20) > relative_metabolic_rate(t, 20));
}
