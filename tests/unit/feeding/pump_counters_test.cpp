// What a pump gave, from reports that repeat, overtake each other or count from a new beginning.
#include "feeding/pump_counters.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::feeding;

namespace {

const Instant kNoon = *parse_rfc3339("2026-10-20T12:00:00Z");

DoseReport report(Instant t) {
  DoseReport r;
  r.pump = "line";
  r.source = "meter";
  r.time = t;
  return r;
}
DoseReport totals(Instant t, std::optional<double> litres, std::optional<double> feed_ml = {}) {
  DoseReport r = report(t);
  r.litres_total = litres;
  r.feed_ml_total = feed_ml;
  return r;
}

struct Counters {
  PumpCounters counters;
  Instant now = kNoon;
  Given take(const DoseReport& r) {
    now = std::max(now, r.time);
    return counters.take(r, now);
  }
};

}  // namespace

TEST_CASE("The first total is a base line, the next ones count what was added since") {
  Counters c;
  const Given first = c.take(totals(kNoon, 1200, 300));
  CHECK_FALSE(first.litres);
  CHECK_FALSE(first.feed_ml);
  CHECK(first.from == kNoon);
  const Given next = c.take(totals(kNoon + hours(3), 1212.5, 342));
  CHECK(next.litres == 12.5);
  CHECK(next.feed_ml == 42);
  CHECK(next.from == kNoon);
  CHECK(next.time == kNoon + hours(3));
  CHECK_FALSE(next.reset);
  CHECK(c.take(totals(kNoon + hours(4), 1212.5, 342)).litres == 0);
}

TEST_CASE("A counter that appears later has a base line of its own") {
  Counters c;
  c.take(totals(kNoon, 100));
  const Given both = c.take(totals(kNoon + hours(1), 110, 5000));
  CHECK(both.litres == 10);
  CHECK_FALSE(both.feed_ml);
  CHECK(c.take(totals(kNoon + hours(2), {}, 5040)).feed_ml == 40);
  // The water's total was left out once; its next one counts from the last that was told.
  CHECK(c.take(totals(kNoon + hours(3), 125, 5040)).litres == 15);
}

TEST_CASE("A counter that was reset counts from its new beginning") {
  Counters c;
  c.take(totals(kNoon, 900, 100));
  const Given reset = c.take(totals(kNoon + hours(1), 7, 20));
  CHECK(reset.reset);
  CHECK(reset.litres == 7);
  CHECK(reset.feed_ml == 20);
  const Given next = c.take(totals(kNoon + hours(2), 10, 20));
  CHECK_FALSE(next.reset);
  CHECK(next.litres == 3);
}

TEST_CASE("Water that flows back through the meter is no reset") {
  Counters c;
  c.take(totals(kNoon, 12'345.7));
  const Given back = c.take(totals(kNoon + hours(1), 12'345.2));
  CHECK_FALSE(back.reset);
  CHECK(back.litres == 0);
  CHECK(*c.take(totals(kNoon + hours(2), 12'345.6)).litres ==
        Approx(0.4));  // the same water again, and never more than that
  CHECK(*c.take(totals(kNoon + hours(3), 12'347.7)).litres == Approx(2.1));
}

TEST_CASE("A counter that lost some of its count hides nothing that flows after it") {
  Counters c;
  c.take(totals(kNoon, 1'000, 100'000));
  const Given back =
      c.take(totals(kNoon + hours(1), 1'000, 99'000));  // a power cut: the last figure saved
  CHECK(back.reset);
  CHECK(*c.take(totals(kNoon + hours(2), 1'000, 99'100)).feed_ml == Approx(100));
}

TEST_CASE("Each total counts from the last of its own") {
  Counters c;
  c.take(totals(kNoon, 100, 1'000));
  DoseReport water = report(kNoon + hours(5));
  water.litres_total = 110;
  CHECK(c.take(water).from == kNoon);
  const Given both = c.take(totals(kNoon + hours(9), 120, 1'050));
  CHECK(both.from == kNoon + hours(5));
  CHECK(both.stock_from == kNoon);
}

TEST_CASE("A watering lasts from when it is said to have begun, at most half a day") {
  Counters c;
  DoseReport r = report(kNoon);
  r.litres = 4;
  r.began = kNoon - minutes(40);
  CHECK(c.take(r).moment == kNoon - minutes(40));
  r.time += hours(1);
  r.began = kNoon + hours(3);
  CHECK(c.take(r).moment == r.time);
  r.time += hours(1);
  r.began = kNoon - 9 * kDay;
  CHECK(c.take(r).from == r.time - hours(12));
}

TEST_CASE("A total that was overtaken adds nothing, amounts since the report before always do") {
  Counters c;
  c.take(totals(kNoon, 100));
  CHECK(c.take(totals(kNoon + hours(2), 120)).litres == 20);
  const Given late = c.take(totals(kNoon + hours(1), 110));
  CHECK_FALSE(late.litres);
  CHECK_FALSE(late.reset);
  CHECK(c.take(totals(kNoon + hours(3), 121)).litres == 1);
  DoseReport amount = report(kNoon + minutes(90));
  amount.litres = 4;
  amount.feed_ml = 9;
  CHECK(c.take(amount).litres == 4);
}

TEST_CASE("Where amount and total are told, the amount counts and the total is followed") {
  Counters c;
  c.take(totals(kNoon, 100));
  DoseReport both = totals(kNoon + hours(1), 110, 50);
  both.litres = 9;
  const Given given = c.take(both);
  CHECK(given.litres == 9);
  CHECK_FALSE(given.feed_ml);
  CHECK(given.from ==
        kNoon + hours(1));  // an amount does not tell since when, and nothing else did
  CHECK(c.take(totals(kNoon + hours(2), 112, 53)).litres == 2);
}

TEST_CASE("A source's report is seen once, another source's of the same time is another one") {
  Counters c;
  const DoseReport first = totals(kNoon, 5);
  CHECK_FALSE(c.counters.seen(first));
  c.take(first);
  CHECK(c.counters.seen(first));
  DoseReport probe = report(kNoon);
  probe.source = "probe";
  CHECK_FALSE(c.counters.seen(probe));
  c.take(probe);
  CHECK(c.counters.seen(probe));
  // Out of order, and remembered all the same.
  c.take(totals(kNoon - hours(5), 3));
  c.take(totals(kNoon - hours(9), 2));
  for (const int h : {0, 5, 9}) CHECK(c.counters.seen(totals(kNoon - hours(h), 0)));
  CHECK_FALSE(c.counters.seen(totals(kNoon - hours(7), 0)));
}

TEST_CASE("Times are remembered as long as their reports would be taken") {
  Counters c;
  c.take(totals(kNoon, 5));
  c.now = kNoon + kReportsKept;
  c.take(totals(c.now, 6));
  CHECK(c.counters.seen(totals(kNoon, 5)));
  c.now += minutes(1);
  c.take(totals(c.now, 6));
  CHECK_FALSE(c.counters.seen(totals(kNoon, 5)));
}

TEST_CASE("A pump whose clock runs a year ahead is counted on when it is set right") {
  Counters c;
  c.take(totals(kNoon, 100));
  const DoseReport ahead = totals(kNoon + 365 * kDay, 110);
  const Given given = c.counters.take(ahead, kNoon + hours(1));
  CHECK(given.litres == 10);
  CHECK(given.time == kNoon + hours(1));
  CHECK(c.counters.seen(ahead));
  CHECK(c.counters.take(totals(kNoon + hours(2), 113), kNoon + hours(2)).litres == 3);
}
