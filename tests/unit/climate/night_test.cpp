// Summaries of a period: weights, gaps, coverage, trimming.
#include "climate/night.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

using namespace plainwater;
using namespace plainwater::climate;

namespace {

const Instant kFrom = from_seconds(1'789'344'000);
Instant h(double hour) { return kFrom + from_days(hour / 24); }

Stretch summed(const std::vector<Air>& values, double length_h = 12, double reach_h = 1.5) {
  return sum_up(values, kFrom, h(length_h), from_days(reach_h / 24));
}

}  // namespace

TEST_CASE("Without values nothing is known of a period") {
  const Stretch s = summed({});
  CHECK(s.coverage == 0);
  CHECK(std::isnan(s.mean));
  CHECK(std::isnan(s.minimum));
  CHECK(std::isnan(s.maximum));
}

TEST_CASE("Hourly values cover a night") {
  std::vector<Air> values;
  for (int i = 0; i < 12; ++i) values.push_back({h(i), 18});
  const Stretch s = summed(values);
  CHECK(s.coverage == 1);
  CHECK(s.mean == 18);
}

TEST_CASE("Values outside the period do not count; its start belongs to it, its end does not") {
  const Stretch s = summed({{h(-0.001), 99}, {h(0), 10}, {h(11.999), 12}, {h(12), 99}});
  CHECK(s.minimum == 10);
  CHECK(s.maximum == 12);
  CHECK(s.mean < 13);
}

TEST_CASE("A value covers the time nearer to it than to its neighbours") {
  // Weights 3 h, 4.5 h, 4.5 h of 12; a tenth of 12 h is cut at each end: 3-1.2, 4.5, 4.5-1.2.
  const Stretch s = summed({{h(0), 10}, {h(6), 16}, {h(9), 13}}, 12, 24);
  CHECK(s.coverage == 1);
  CHECK(s.mean == Approx((1.8 * 10 + 4.5 * 13 + 3.3 * 16) / 9.6));
}

TEST_CASE("A gap counts as covered up to twice the reach") {
  const auto coverage = [](double gap_h) {
    return summed({{h(0), 5}, {h(gap_h), 5}}, 12, 1.5).coverage;
  };
  CHECK(coverage(3) == Approx((1.5 + 3) / 12));  // 0..1.5, 1.5..4.5
  CHECK(coverage(2.5) == Approx(4.0 / 12));      // 0..4
  CHECK(coverage(8) == Approx(4.5 / 12));        // 0..1.5, 6.5..9.5
  CHECK(coverage(11) == Approx(4.0 / 12));       // 0..1.5, 9.5..12
}

TEST_CASE("Half a night without values is half covered") {
  std::vector<Air> values;
  for (int m = 0; m < 360; m += 5) values.push_back({h(m / 60.0), 18});
  const Stretch s = summed(values, 12, 0.375);
  CHECK(s.coverage == Approx((355.0 / 60 + 0.375) / 12));
}

TEST_CASE("A glitch hardly moves the mean, but shows in minimum and maximum") {
  std::vector<Air> values;
  for (int m = 0; m < 720; m += 5)
    values.push_back({h(m / 60.0), m == 200 ? 85.0 : m == 300 ? -20.0 : 18.0});
  const Stretch s = summed(values, 12, 0.375);
  CHECK(s.mean == 18);
  CHECK(s.minimum == -20);
  CHECK(s.maximum == 85);
}

TEST_CASE("Many values in a short time weigh no more than that time") {
  std::vector<Air> values;
  for (int i = 0; i < 12; ++i) values.push_back({h(i), 10});
  std::vector<Air> busy = values;
  for (int s = 1; s < 600; ++s)
    busy.push_back({h(6) + seconds(s), 20});  // ten minutes, once a second
  std::sort(busy.begin(), busy.end(), [](const Air& a, const Air& b) { return a.time < b.time; });
  CHECK(summed(busy).mean == 10);
}

TEST_CASE("An empty period is harmless") {
  const Stretch s = sum_up({{h(0), 10}}, kFrom, kFrom, hours(1));
  CHECK(s.coverage == 0);
  CHECK(std::isnan(s.mean));
}
