// The pots of a bench as one well-mixed pot.
#include "feeding/salts.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace plainwater;
using namespace plainwater::feeding;

namespace {

const Instant kSaltsNoon = *parse_rfc3339("2026-10-20T12:00:00Z");

/// 20 pots of a litre that hold 6 L; half of what is given drains.
Bench bench() {
  Bench b;
  b.pots = 20;
  b.pot_l = 1;
  return b;
}
SaltBalance balance(double ec, const Bench& b) {
  SaltBalance salts;
  salts.runoff(ec, kSaltsNoon, b);
  return salts;
}

}  // namespace

TEST_CASE("Nothing is known of salts until something is told") {
  SaltBalance salts;
  CHECK_FALSE(salts.known());
  salts.water(0, 1.0, bench());
  salts.water(5, std::nan(""), bench());
  CHECK_FALSE(salts.known());
  salts.water(5, 0.8, Bench{});  // no pots in the settings
  salts.runoff(2, kSaltsNoon, Bench{});
  CHECK_FALSE(salts.known());
  salts.water(1e-3, 0.8, bench());
  CHECK(salts.known());
  CHECK(salts.ec() == Approx(0.8).margin(1e-3));
  CHECK(salts.doubt_ec() == Approx(1).margin(1e-3));
  CHECK(salts.measured() == kNever);
}

TEST_CASE("One watering by the formula") {
  const Bench b = bench();
  SaltBalance salts = balance(2, b);
  salts.water(8, 1.0, b);  // (2·6 + 1·8) / (6 + 4)
  CHECK(salts.ec() == 2.0);
  salts.water(12, 0.4, b);  // (2·6 + 0.4·12) / (6 + 6)
  CHECK(salts.ec() == Approx(1.4));
}

TEST_CASE(
    "In the long run the pots hold the water's EC over the leaching share, whatever was in them") {
  for (const double leaching : {0.1, 0.3, 0.5, 0.9}) {
    Bench b = bench();
    b.leaching = leaching;
    for (const double before : {0.1, 4.0}) {
      SaltBalance salts = balance(before, b);
      for (int i = 0; i < 400; ++i) salts.water(4, 0.6, b);
      CHECK(salts.ec() == Approx(0.6 / leaching).epsilon(1e-3));
      CHECK(salts.doubt_ec() == Approx(0.35 * 0.6 / leaching).epsilon(1e-3));
    }
  }
}

TEST_CASE("A flush as advised brings the pots under the alarm") {
  const Bench b = bench();
  for (const double before : {1.3, 2.0, 4.0}) {
    SaltBalance salts = balance(before, b);
    salts.water(flush_advice(salts, 0.3, b).litres, 0.3, b);
    CHECK(salts.ec() < alarm_ec(b));
    CHECK(salts.ec() > 0.3);
  }
  // 24 L through pots that hold 6: 18 of them drain at least.
  SaltBalance salts = balance(2, b);
  salts.water(24, 0.4, b);
  CHECK(salts.ec() == Approx((2 * 6 + 0.4 * 24) / (6 + 18)));
}

TEST_CASE("A pot's salts stay between those of before and those of the long run") {
  const Bench b = bench();
  for (const double litres : {0.1, 3.0, 50.0, 5000.0}) {
    SaltBalance up = balance(0.5, b), down = balance(3, b);
    up.water(litres, 0.7, b);
    down.water(litres, 0.7, b);
    CHECK((up.ec() > 0.5 && up.ec() <= 1.4));
    CHECK((down.ec() < 3 && down.ec() >= 0.7));
  }
}

TEST_CASE("Measured runoff draws the balance to it and says how much stays") {
  const Bench b = bench();
  SaltBalance salts;
  for (int i = 0; i < 200; ++i) salts.water(6, 0.6, b);
  REQUIRE(salts.ec() == Approx(1.2).epsilon(0.01));
  const double doubt = salts.doubt_ec();
  salts.runoff(0.6, kSaltsNoon, b);
  CHECK(salts.ec() > 0.6);
  CHECK(salts.ec() < 0.9);  // nearer to what was measured than to what was reckoned
  CHECK(salts.doubt_ec() < doubt);
  CHECK(salts.doubt_ec() < 0.16);  // nor more than the reading's own
  CHECK(salts.measured() == kSaltsNoon);
  for (int i = 0; i < 200; ++i) salts.water(6, 0.6, b);
  CHECK(salts.ec() ==
        Approx(1.2 * std::sqrt(0.5)).epsilon(0.01));  // half of the way that it was wrong by
}

TEST_CASE("Runoff measured before the last one changes nothing") {
  const Bench b = bench();
  SaltBalance salts = balance(1, b);
  salts.runoff(5, kSaltsNoon - hours(1), b);
  CHECK(salts.ec() == 1);
  CHECK(salts.measured() == kSaltsNoon);
}

TEST_CASE("Extreme runoff leaves a usable balance") {
  const Bench b = bench();
  SaltBalance salts;
  for (int i = 0; i < 50; ++i) {
    salts.water(6, 0.4, b);
    salts.runoff(i % 2 == 0 ? 0 : 20, kSaltsNoon + kDay * i, b);
    CHECK(std::isfinite(salts.ec()));
    CHECK(salts.ec() >= 0);
    CHECK(salts.doubt_ec() > 0);
  }
  salts = balance(0, b);
  for (int i = 0; i < 200; ++i) salts.water(6, 0.4, b);
  CHECK(salts.ec() == Approx(0.8).epsilon(0.01));
}

TEST_CASE("A flush by the formula: to half of the alarm, three pot volumes at most") {
  const Bench b = bench();  // usual tolerance: alarm 1.2, a flush above 1.92 to 0.6
  CHECK(held_l(b) == Approx(6));
  CHECK(flush_above_ec(b) == Approx(1.92));
  const FlushAdvice advice = flush_advice(balance(2.1, b), 0.1, b);
  CHECK(advice.target_ec == Approx(0.6));
  CHECK(advice.litres == Approx(6 * std::log((2.1 - 0.1) / (0.6 - 0.1)) / 0.5).margin(0.05));
  CHECK_FALSE(advice.again);
  CHECK_FALSE(advice.water_too_salty);
  const FlushAdvice strong = flush_advice(balance(9, b), 0.55, b);
  CHECK(strong.target_ec == Approx(0.65));  // no nearer to the water's own than 0.1
  CHECK(strong.litres == Approx(6 * std::log((9 - 0.55) / 0.1) / 0.5).margin(0.05));
  const FlushAdvice stronger = flush_advice(balance(20, b), 0.59, b);
  CHECK(stronger.litres == 60);
  CHECK(stronger.again);
  Bench low = b;
  low.salt_tolerance = SaltTolerance::low;
  CHECK(flush_above_ec(low) == Approx(1.28));
  CHECK(flush_advice(balance(2, low), 0.1, low).target_ec == Approx(0.4));
}

TEST_CASE("Water that is salty itself washes nothing out") {
  const Bench b = bench();
  CHECK(flush_advice(balance(3, b), 1.15, b).water_too_salty);
  CHECK(flush_advice(balance(1.3, b), 1.25, b).water_too_salty);
  CHECK_FALSE(flush_advice(balance(3, b), 1.05, b).water_too_salty);
  const FlushAdvice clean = flush_advice(balance(0.3, b), 0.1, b);
  CHECK(clean.litres == 0);
  CHECK_FALSE(clean.water_too_salty);
}
