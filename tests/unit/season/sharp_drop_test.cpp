// The trigger: what fires it, when, and what does not.
#include <catch2/catch.hpp>
#include <cmath>

#include "nights.h"

using namespace plainwater;
using namespace plainwater::season;

TEST_CASE("A fall of 8 °C fires on its third night") {
  Nights n;
  CHECK(n.run(20, 18) == 0);
  CHECK(n.run(10, 10) == 3);
}

TEST_CASE("A fall of 6 °C fires by its third night, one of 4 °C by its fifth") {
  Nights six, four;
  six.run(25, 18);
  CHECK(six.run(10, 12) == 3);
  four.run(25, 18);
  const int night = four.run(10, 14);
  CHECK(night >= 3);
  CHECK(night <= 5);
}

TEST_CASE("The first alarm of all can come on night 10") {
  for (int before = 1; before < 8; ++before) {
    Nights n;
    CHECK(n.run(before, 18) == 0);
    const int fired = n.run(9, 8);
    INFO(before << " nights before");
    if (fired > 0) CHECK(before + fired >= 10);
  }
  Nights earliest;
  earliest.run(7, 18);
  CHECK(earliest.run(5, 8) == 3);
}

TEST_CASE("A slow decline is followed without alarm: 1 °C a week for 12 weeks") {
  Nights n;
  n.run(30, 20);
  for (int i = 0; i < 84; ++i) CHECK_FALSE(n.take(20 - i / 7.0 + ripple(n.night)));
}

TEST_CASE("A fall of 2 °C is none, and neither is a rise") {
  Nights n;
  n.run(30, 18);
  CHECK(n.run(30, 16) == 0);
  CHECK(n.run(30, 24) == 0);
}

TEST_CASE("Two cold nights do not fire, though they are very cold") {
  Nights n;
  n.run(25, 18);
  CHECK(n.run(2, 6) == 0);
  CHECK(n.run(10, 18) == 0);
}

TEST_CASE("Warmth that breaks the snap off keeps the trigger quiet") {
  Nights n;
  n.run(25, 18);
  n.run(2, 10);
  CHECK_FALSE(n.take(17.5));
  CHECK_FALSE(n.take(18));
}

TEST_CASE("A bench of restless nights needs a deeper fall") {
  const auto restless = [](Nights& n, int count, double mean) {
    int fired = 0;
    for (int i = 1; i <= count; ++i)
      if (n.take(mean + static_cast<double>(n.night % 3 - 1) * 3) && fired == 0)
        fired = i;  // -3, 0, 3: scaled MAD 4.4
    return fired;
  };
  Nights n;
  CHECK(restless(n, 40, 18) == 0);
  CHECK(restless(n, 20, 13.5) == 0);
  Nights deeper;
  restless(deeper, 40, 18);
  CHECK(restless(deeper, 20, 8) > 0);
}

TEST_CASE("What the trigger saw is told") {
  Nights n;
  for (int i = 0; i < 30; ++i) n.take(18);
  std::optional<Drop> drop;
  for (int i = 0; i < 3; ++i) drop = n.take(10);
  REQUIRE(drop);
  CHECK(drop->base_c == 18);
  CHECK(drop->before_c == 18);
  CHECK(drop->noise_c == 0);
  CHECK(drop->landing_c == 10);
  CHECK(drop->fall_c() == 8);
  // A before the third cold night: 18 followed by two steps towards 10.
  const double a = 10 + 8 * std::exp(-2.0 / 14);
  CHECK(drop->acclimated_c == Approx(a).margin(1e-5));
  CHECK(drop->deficit_c == Approx((0 + 8 + (8 * std::exp(-1.0 / 14)) + (a - 10)) / 4).margin(1e-5));
}

TEST_CASE(
    "It goes on firing until it is answered, and once answered is quiet about the same fall") {
  Nights n;
  n.run(25, 18);
  CHECK(n.run(3, 10) == 3);
  CHECK(n.take(10));
  n.answer();
  CHECK(n.run(40, 10) == 0);
}

TEST_CASE("A second fall is seen, once ten nights stand after the first answer") {
  Nights n;
  n.run(25, 20);
  CHECK(n.run(3, 14) == 3);
  n.answer();
  CHECK(n.run(12, 14) == 0);
  CHECK(n.run(8, 8) == 3);
}

TEST_CASE(
    "After a withdrawal the base of before stays for 30 nights, so a second fall is measured from "
    "there") {
  const auto second_fall = [](bool keep) {
    Nights n;
    n.run(25, 18);
    n.run(3, 12);
    n.answer();
    n.run(25, 15.5);  // recovered half-way
    if (keep) n.season.drop.keep_base(18, 0.2, n.night - 1, n.rules);
    std::optional<Drop> drop;
    for (int i = 0; i < 6 && !drop; ++i) drop = n.take(11.5);
    return drop;
  };
  const auto kept = second_fall(true), without = second_fall(false);
  REQUIRE(kept);
  REQUIRE(without);
  CHECK(kept->base_c == 18);
  CHECK(without->base_c == Approx(15.5).margin(0.3));
}

TEST_CASE("The kept base runs out") {
  Nights n;
  n.run(40, 15);
  n.season.drop.keep_base(20, 0.2, n.night - 1, n.rules);
  n.run(30, 15);
  std::optional<Drop> drop;
  for (int i = 0; i < 6 && !drop; ++i) drop = n.take(9);
  REQUIRE(drop);
  CHECK(drop->base_c == Approx(15).margin(0.3));
}

TEST_CASE("A gap of more than 14 nights forgets the fall that it hides") {
  Nights n;
  n.run(30, 20);
  n.skip(15);
  CHECK(n.run(9, 10) == 0);
  CHECK(n.run(30, 10) == 0);
}

TEST_CASE("Once settled, the deficits of before are void") {
  Nights n;
  for (int i = 0; i < 25; ++i) n.take(18);
  for (int i = 0; i < 8; ++i) n.take(10);
  CHECK(n.season.drop.mean_deficit_c(4) > 4);
  n.season.acclimation.settle();
  n.season.drop.settled();
  n.take(10);
  CHECK(n.season.drop.mean_deficit_c(4) == 0);
}

TEST_CASE("An answer that was cut short may be given again") {
  Nights n;
  n.run(25, 18);
  CHECK(n.run(3, 10) == 3);
  n.answer();
  CHECK_FALSE(n.take(10));
  n.season.drop.unanswered();
  CHECK(n.take(10));
}
