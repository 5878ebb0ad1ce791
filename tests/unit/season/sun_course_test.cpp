// The course that the sun alone gives the air outdoors.
#include "season/sun_course.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace plainwater;
using namespace plainwater::season;

namespace {

/// Days under a sun that reaches `highest` (sine) at noon and is above the horizon for `day_h`.
struct SunnyDays {
  SunCourse course;
  double highest = 0.85, day_h = 16, step_h = 0.5, hour = 0;
  double least_c = 0, most_c = 0, least_at = 0, most_at = 0, sum_c = 0;

  double sun() const {
    const double from_noon = std::abs(std::fmod(hour, 24) - 12) / (day_h / 2);
    return from_noon < 1 ? highest * std::cos(from_noon * 1.5707963) : -0.2;
  }
  void day() {
    least_c = 1e9, most_c = -1e9, sum_c = 0;
    for (double h = 0; h < 24; h += step_h) {
      hour += step_h;
      course.take(sun(), step_h);
      const double c = course.departure_c();
      sum_c += c * step_h;
      if (c < least_c) least_c = c, least_at = std::fmod(hour, 24);
      if (c > most_c) most_c = c, most_at = std::fmod(hour, 24);
    }
  }
  void days(int n) {
    for (int i = 0; i < n; ++i) day();
  }
};

}  // namespace

TEST_CASE("A running mean is of all so far at first, and forgets later") {
  RunningMean mean;
  mean.take(10, 1, 48);
  CHECK(mean.mean == Approx(10));
  mean.take(20, 1, 48);
  CHECK(mean.mean == Approx(15));
  for (int h = 0; h < 480; ++h) mean.take(4, 1, 48);
  CHECK(mean.mean == Approx(4).margin(0.1));
}

TEST_CASE("The air is warmest some hours after noon and coldest at sunrise") {
  SunnyDays s;
  s.days(8);
  CHECK(s.most_at > 13);
  CHECK(s.most_at < 17);
  CHECK(s.least_at > 3);
  CHECK(s.least_at < 6);
  CHECK(s.most_c - s.least_c > 5);
  CHECK(s.most_c - s.least_c < 14);
}

TEST_CASE("Over a day the course departs from its mean by nothing") {
  SunnyDays s;
  s.days(25);
  CHECK(s.sum_c / 24 == Approx(0).margin(0.2));
}

TEST_CASE("Winter days range less than summer days, and without a sun there is no range") {
  SunnyDays summer, winter, polar;
  winter.highest = 0.25;
  winter.day_h = 8;
  polar.highest = -0.1;
  summer.days(12);
  winter.days(12);
  polar.days(3);
  CHECK(winter.most_c - winter.least_c < 0.4 * (summer.most_c - summer.least_c));
  CHECK(polar.course.departure_c() == 0);
}

TEST_CASE("The course hardly depends on how often it is read") {
  SunnyDays often, seldom;
  often.step_h = 1.0 / 12;
  seldom.step_h = 1;
  often.days(6);
  seldom.days(6);
  CHECK(often.most_c == Approx(seldom.most_c).margin(0.5));
  CHECK(often.least_c == Approx(seldom.least_c).margin(0.5));
}
