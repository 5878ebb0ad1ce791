// One sensor's sorted readings.
#include "climate/series.h"

#include <catch2/catch.hpp>

#include "common/archive.h"
#include "start.h"

using namespace plainwater;
using namespace plainwater::climate;
using Added = Series::Added;

namespace {

std::vector<std::pair<std::int64_t, Milli>> points_of(const Series& s) {
  std::vector<std::pair<std::int64_t, Milli>> out;
  for (std::size_t i = 0; i < s.size(); ++i)
    out.emplace_back((s.time(i) - kStart).count(), s.value(i));
  return out;
}

}  // namespace

TEST_CASE("Readings are kept in order of time, however they arrive") {
  Series s;
  CHECK(s.empty());
  CHECK(s.add(kStart + Span(500), 5) == Added::appended);
  CHECK(s.add(kStart + Span(900), 9) == Added::appended);
  CHECK(s.add(kStart, 1) == Added::inserted);  // before the first
  CHECK(s.add(kStart + Span(700), 7) == Added::inserted);
  CHECK(points_of(s) ==
        std::vector<std::pair<std::int64_t, Milli>>{{0, 1}, {500, 5}, {700, 7}, {900, 9}});
}

TEST_CASE("A repeated reading changes nothing; of two values the smaller counts") {
  Series s;
  s.add(kStart, 20);
  CHECK(s.add(kStart, 20) == Added::repeated);
  CHECK(s.add(kStart, 25) == Added::conflicting);
  CHECK(s.value(0) == 20);
  CHECK(s.add(kStart, 15) == Added::conflicting);
  CHECK(s.value(0) == 15);
  CHECK(s.add(kStart, 20) == Added::conflicting);
  CHECK(s.value(0) == 15);
  CHECK(s.size() == 1);
}

TEST_CASE("Readings are found by time") {
  Series s;
  CHECK(s.at_or_after(kStart) == 0);
  for (int i = 0; i < 5; ++i) s.add(kStart + hours(i), i);
  CHECK(s.at_or_after(kStart - hours(1)) == 0);
  CHECK(s.at_or_after(kStart + hours(2)) == 2);
  CHECK(s.at_or_after(kStart + hours(2) + Span(1)) == 3);
  CHECK(s.at_or_after(kStart + hours(9)) == 5);
}

TEST_CASE("Forgetting leaves the rest unchanged") {
  Series s;
  for (int i = 0; i < 5; ++i) s.add(kStart + hours(i), i);
  s.forget_before(kStart + hours(2));
  CHECK(s.size() == 3);
  CHECK(s.time(0) == kStart + hours(2));
  CHECK(s.value(2) == 4);
  s.forget_before(kStart + hours(2));
  CHECK(s.size() == 3);
  s.forget_before(kStart + kDay);
  CHECK(s.empty());
  CHECK(s.add(kStart, 7) == Added::appended);
}

TEST_CASE("Equal sets of readings have equal bytes once the past is forgotten") {
  const auto bytes = [](Series s) {
    ByteWriter out;
    Saver save(out);
    save(s);
    return out.take();
  };
  Series a, b;
  for (int i = 0; i < 6; ++i) a.add(kStart + hours(i), i);
  for (const int i : {5, 0, 3, 2, 4, 1}) b.add(kStart + hours(i), i);
  a.forget_before(kStart + hours(1));
  b.forget_before(kStart + hours(1));
  CHECK(a == b);
  CHECK(bytes(a) == bytes(b));
}

TEST_CASE("A day of one reading a minute, forgotten day by day for two years, stays the same") {
  Series s;
  for (int d = 0; d < 730; ++d) {
    for (int m = 0; m < 1440; m += 60) s.add(kStart + kDay * d + minutes(m), d * 1440 + m);
    if (d > 0) s.forget_before(kStart + kDay * (d - 1));
  }
  CHECK(s.size() == 48);
  CHECK(s.time(0) == kStart + kDay * 728);
  CHECK(s.value(47) == 729 * 1440 + 23 * 60);
}
