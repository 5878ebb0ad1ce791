// Order statistics by hand-worked examples.
#include "common/statistics.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "common/reading.h"
#include "common/result.h"

using namespace plainwater;

TEST_CASE("The median is the middle, or the mean of the two middle ones") {
  CHECK(median(std::vector<double>{3}) == 3);
  CHECK(median(std::vector<double>{3, 1}) == 2);
  CHECK(median(std::vector<double>{9, 1, 2}) == 2);
  CHECK(median(std::vector<double>{4, 1, 3, 100}) == 3.5);
  CHECK(median(std::vector<double>{2, 2, 2, 2, 8}) == 2);
  CHECK(std::isnan(median({})));
}

TEST_CASE("The scaled MAD is blind to one outlier") {
  CHECK(scaled_mad(std::vector<double>{1, 2, 3, 4, 5}) == Approx(1.4826));
  CHECK(scaled_mad(std::vector<double>{1, 2, 3, 4, 500}) == Approx(1.4826));
  CHECK(scaled_mad(std::vector<double>{7, 7, 7}) == 0);
  CHECK(std::isnan(scaled_mad({})));
}

TEST_CASE("The mean") {
  CHECK(mean(std::vector<double>{1, 2, 6}) == 3);
  CHECK(std::isnan(mean({})));
}

TEST_CASE("The trimmed mean leaves out a share of the weight at each end") {
  std::vector<Weighted> ten;
  for (int i = 1; i <= 10; ++i) ten.push_back({static_cast<double>(i), 1});
  ten.back().value = 85;  // a glitch that would spoil the plain mean
  CHECK(trimmed_mean(ten, 0.1) == Approx((2 + 3 + 4 + 5 + 6 + 7 + 8 + 9) / 8.0));
  CHECK(trimmed_mean({{1, 1}, {3, 3}}, 0) == Approx(2.5));
  CHECK(trimmed_mean({{10, 1}, {0, 1}}, 0.25) == Approx(5));  // half of each is cut
  CHECK(trimmed_mean({{0, 0.1}, {5, 9.8}, {99, 0.1}}, 0.1) == 5);
  CHECK(trimmed_mean({{7, 0}, {9, 2}}, 0.1) == 9);
  CHECK(std::isnan(trimmed_mean({}, 0.1)));
  CHECK(std::isnan(trimmed_mean({{4, 0}}, 0.1)));
  CHECK(std::isnan(trimmed_mean({{4, 1}}, 0.5)));
}

TEST_CASE("The trimmed mean does not depend on the order of values") {
  CHECK(trimmed_mean({{1, 2}, {5, 1}, {3, 4}, {3, 1}}, 0.1) ==
        trimmed_mean({{3, 1}, {3, 4}, {5, 1}, {1, 2}}, 0.1));
}

TEST_CASE("Thousandths are rounded to the nearest, halves away from zero") {
  CHECK(to_milli(21.375) == 21'375);
  CHECK(to_milli(-0.0005) == -1);
  CHECK(to_milli(20.0004999) == 20'000);
  CHECK(from_milli(to_milli(-127)) == -127.0);
}

TEST_CASE("An error says what, where and what to do, without empty parts") {
  CHECK(Error{"expected a number", "a.yaml:4", "give one"}.message() ==
        "a.yaml:4: expected a number; give one");
  CHECK(Error{"expected a number", "", ""}.message() == "expected a number");
  const Result<int> good = 4;
  const Result<int> bad = Error{"no", "", ""};
  CHECK(good);
  CHECK(*good == 4);
  CHECK_FALSE(bad);
  CHECK(bad.error().what == "no");
}
