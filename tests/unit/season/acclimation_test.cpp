// What plants are used to: a first-order lag behind the nights.
#include <catch2/catch.hpp>
#include <cmath>

#include "nights.h"

using namespace plainwater;
using namespace plainwater::season;

TEST_CASE("The line starts at the median of the first five counted nights") {
  Nights n;
  for (const double c : {18.0, 17.0, 30.0, 16.0}) {
    n.take(c);
    CHECK_FALSE(n.deficit);
    CHECK_FALSE(n.season.acclimation.acclimated_c());
  }
  n.take(19);
  CHECK(n.acclimated() == 18);
  CHECK(n.deficit == -1);
}

TEST_CASE("After one time constant of 14 nights 63 % of a step is followed") {
  Nights n;
  for (int i = 0; i < 5; ++i) n.take(20);
  for (int i = 0; i < 14; ++i) n.take(10);
  CHECK(n.acclimated() == Approx(20 - 10 * (1 - std::exp(-1.0))).margin(1e-4));
  for (int i = 0; i < 28; ++i) n.take(10);
  CHECK(n.acclimated() ==
        Approx(10 + 10 * std::exp(-3.0)).margin(1e-4));  // 95 % after three of them
}

TEST_CASE("The lag is the same upwards, and its length is a setting") {
  Nights n;
  n.rules.acclimation_days = 7;
  for (int i = 0; i < 5; ++i) n.take(10);
  for (int i = 0; i < 7; ++i) n.take(20);
  CHECK(n.acclimated() == Approx(20 - 10 * std::exp(-1.0)).margin(1e-4));
}

TEST_CASE("The deficit is taken before the line moves") {
  Nights n;
  for (int i = 0; i < 5; ++i) n.take(20);
  n.take(12);
  CHECK(n.deficit == 8);
  CHECK(n.acclimated() == Approx(20 - 8 * (1 - std::exp(-1.0 / 14))).margin(1e-5));
}

TEST_CASE("Missing nights count in the lag, up to a week") {
  Nights short_gap, long_gap;
  for (Nights* n : {&short_gap, &long_gap})
    for (int i = 0; i < 5; ++i) n->take(20);
  short_gap.skip(3);
  short_gap.take(10);
  CHECK(short_gap.acclimated() == Approx(10 + 10 * std::exp(-4.0 / 14)).margin(1e-5));
  long_gap.skip(12);
  long_gap.take(10);
  CHECK(long_gap.acclimated() == Approx(10 + 10 * std::exp(-0.5)).margin(1e-5));
}

TEST_CASE("After a gap of more than 14 nights it starts afresh") {
  Nights n;
  for (int i = 0; i < 30; ++i) n.take(20);
  n.skip(13);
  n.take(20);  // 14 nights later
  CHECK_FALSE(n.season.acclimation.restarted());
  n.skip(14);
  n.take(8);  // 15 nights later
  CHECK(n.season.acclimation.restarted());
  CHECK_FALSE(n.season.acclimation.acclimated_c());
  CHECK(n.season.acclimation.nights().size() == 1);
  CHECK(n.season.acclimation.counted() == 32);
  for (int i = 0; i < 4; ++i) n.take(8);
  CHECK_FALSE(n.season.acclimation.restarted());
  CHECK(n.acclimated() == 8);
}

TEST_CASE("At a hold's end the line falls to the last week's nights, and never rises") {
  Nights n;
  n.run(20, 18);
  n.run(10, 10);
  n.season.acclimation.settle();
  CHECK(n.acclimated() == Approx(10).margin(0.31));
  const double settled = n.acclimated();
  n.run(7, 20);
  const double risen = n.acclimated();
  CHECK(risen > settled);
  n.season.acclimation.settle();
  CHECK(n.acclimated() == risen);
}

TEST_CASE("Settling before anything is known does nothing") {
  Acclimation a;
  a.settle();
  CHECK_FALSE(a.acclimated_c());
  CHECK(std::isnan(a.recent_c(14)));
}

TEST_CASE("The recent median looks at as many nights as there are") {
  Nights n;
  for (const double c : {10.0, 30.0, 12.0}) n.take(c);
  CHECK(n.season.acclimation.recent_c(14) == 12);
  CHECK(n.season.acclimation.recent_c(2) == 21);
}

TEST_CASE("Sixty nights are remembered") {
  Nights n;
  n.run(100, 18);
  CHECK(n.season.acclimation.nights().size() == 60);
  CHECK(n.season.acclimation.nights().back().night == n.night - 1);
}

TEST_CASE("The growing night is the prior until it is known to be warmer, or a year is known") {
  Nights n;
  CHECK(n.season.acclimation.growing_night_c(15.5) == 15.5);
  for (int i = 0; i < 90; ++i) n.take(12);
  CHECK(n.season.acclimation.growing_night_c(15.5) ==
        15.5);  // a winter's worth proves nothing about summer
  CHECK(n.season.acclimation.growing_night_c(11) == 12);
  for (int i = 0; i < 120; ++i) n.take(18);
  CHECK(n.season.acclimation.growing_night_c(15.5) ==
        Approx(18).margin(0.05));  // A has arrived there for 60 days
  for (int i = 0; i < 120; ++i) n.take(9);
  CHECK(n.season.acclimation.growing_night_c(25) ==
        Approx(18).margin(0.05));  // a year is known: the prior is forgotten
  for (int i = 0; i < 420; ++i) n.take(9);
  CHECK(n.season.acclimation.growing_night_c(25) == Approx(9).margin(0.05));  // the last 400 only
}

TEST_CASE("A night's mean is revised and the line stays where it was") {
  Nights n;
  n.run(20, 18);
  const double line = n.acclimated();
  n.season.acclimation.revise(n.night - 1, 11.25);
  CHECK(n.season.acclimation.nights().back().mean_c == 11.25);
  CHECK(n.acclimated() == line);
  n.season.acclimation.revise(12, 99);  // a night that is not known
  CHECK(n.season.acclimation.recent_c(60) < 20);
}
