// What is forgiven: the time that a change takes, the water in the line, and reports that come
// late.
#include "watched_pump.h"

using namespace plainwater;
using namespace plainwater::feeding;

TEST_CASE("After a change the order of before may be followed for the pump's grace") {
  WatchedPump p(50);
  p.order(0);
  p.later(minutes(9));
  CHECK(causes_of(p.strength(50)) == kNone);
  CHECK(causes_of(p.ec(0.7)) == kNone);
  CHECK(causes_of(p.strength(100)) == kOver);  // stronger than either
  p.later(minutes(2));
  CHECK(causes_of(p.strength(50)) == kFedInPlainWater);
  SECTION("and a rise need not be followed at once") {
    WatchedPump q(25);
    q.order(50);
    q.later(minutes(5));
    CHECK(causes_of(q.strength(25)) == kNone);
    CHECK(causes_of(q.strength(50)) == kNone);
    q.later(minutes(6));
    CHECK(causes_of(q.strength(25)) == kUnder);
  }
}

TEST_CASE("Until its water has passed, the line may hold what was given before") {
  WatchedPump p(50);
  p.pump.line_l = 8;
  p.order(0);
  p.later(hours(1));
  CHECK(causes_of(p.ec(0.7, 5)) == kNone);
  p.later(hours(1));
  CHECK(causes_of(p.ec(0.7, 5)) == kNone);  // 5 of 8 L had passed before it
  p.later(hours(1));
  CHECK(causes_of(p.ec(0.7, 5)) == kFedInPlainWater);
  SECTION("which excuses conductivity alone") {
    WatchedPump q(50);
    q.pump.line_l = 8;
    q.order(0);
    q.later(hours(1));
    CHECK(causes_of(q.stock(20, 5)) == kFedInPlainWater);
  }
  SECTION("and two changes may both stand in it") {
    WatchedPump q(25);
    q.pump.line_l = 8;
    q.order(50);
    q.later(hours(1));
    q.ec(0.55, 2);
    q.order(0);
    q.later(hours(1));
    CHECK(causes_of(q.ec(0.7, 2)) == kNone);
    CHECK(causes_of(q.ec(0.9, 2)) == kFedInPlainWater);
  }
  SECTION("a probe without a meter of its own waits for the meter's water") {
    WatchedPump q(50);
    q.pump.line_l = 8;
    q.stock(50);
    q.order(0);
    q.later(hours(1));
    CHECK(causes_of(q.ec(0.7)) == kNone);
    q.later(minutes(1));
    q.stock(0);
    q.later(minutes(1));
    CHECK(causes_of(q.ec(0.7)) == kFedInPlainWater);
  }
  SECTION("a probe stands in the feed of before until water flows, however short the line") {
    WatchedPump q(50);
    q.stock(50);
    q.order(0);
    for (int i = 0; i < 5; ++i) {
      q.later(hours(1));
      CHECK(causes_of(q.ec(0.7)) == kNone);
    }
    q.stock(0);
    q.later(minutes(1));
    CHECK(causes_of(q.ec(0.7)) == kFedInPlainWater);
  }
  SECTION("without any meter the time's grace alone counts") {
    WatchedPump q(50);
    q.pump.line_l = 8;
    q.order(0);
    q.later(hours(1));
    CHECK(causes_of(q.ec(0.7)) == kFedInPlainWater);
  }
  SECTION("a late report's water did not pass after the change") {
    WatchedPump q(50);
    q.pump.line_l = 8;
    DoseReport late = q.report();
    late.litres = 30;
    late.ec = 0.7;
    q.later(hours(2));
    q.order(0);
    q.later(hours(1));
    CHECK(causes_of(q.take(late)) == kNone);
    CHECK(causes_of(q.ec(0.7, 4)) == kNone);
  }
}

TEST_CASE("A pump that was on advice has what it likes in its line when it is armed") {
  WatchedPump p(50, false);
  p.pump.line_l = 8;
  p.order(50, true);
  p.later(hours(1));
  CHECK(causes_of(p.ec(0.4, 5)) == kNone);  // its strength went out as 0 until then
  p.later(minutes(1));
  CHECK(causes_of(p.ec(0.4, 5)) == kNone);
  p.later(minutes(1));
  CHECK(causes_of(p.ec(0.4, 5)) == kUnder);
}

TEST_CASE(
    "Stock that a counter tells is judged by all orders since the total before, strength by its "
    "own moment") {
  WatchedPump p(50);
  DoseReport r = p.report();
  r.litres_total = 1000;
  r.feed_ml_total = 400;
  p.take(r);
  p.order(0);
  p.later(2 * kDay);
  r.time = p.now;
  r.litres_total = 1010;
  r.feed_ml_total = 450;  // it may have gone out just before the change
  CHECK(causes_of(p.take(r)) == kNone);
  p.later(kDay);
  r.time = p.now;
  r.litres_total = 1020;
  r.feed_ml_total = 500;  // this cannot
  CHECK(causes_of(p.take(r)) == kFedInPlainWater);
  SECTION("the strength that goes with the total is no riddle") {
    WatchedPump q(50);
    DoseReport s = q.report();
    s.litres_total = 1000;
    q.take(s);
    q.order(0);
    q.later(2 * kDay);
    s.time = q.now;
    s.litres_total = 1010;
    s.strength_percent = 50;
    CHECK(causes_of(q.take(s)) == kFedInPlainWater);
  }
}

TEST_CASE("Late reports are judged by the orders of their time") {
  WatchedPump p(50);
  DoseReport r = p.report();
  r.strength_percent = 50;
  r.litres = 3;
  p.later(kDay);
  p.order(0);
  p.later(5 * kDay);
  CHECK(causes_of(p.take(r)) == kNone);
  DoseReport held = p.report();
  held.strength_percent = 50;
  held.time = p.now - kDay;
  p.order(50);
  p.later(kDay);
  CHECK(causes_of(p.take(held)) == kFedInPlainWater);
  CHECK_FALSE(p.watch.too_old(held, p.now));
  SECTION("which are known for 35 days") {
    CHECK(p.watch.too_old(held, held.time + kReportsKept + minutes(1)));
    DoseReport before = p.report();
    before.time = *parse_rfc3339("2026-10-20T11:59:00Z");  // no order had been given
    CHECK(p.watch.too_old(before, p.now));
  }
  SECTION("though many changes came after them") {
    for (int d = 0; d < 100; ++d) {
      p.order(d % 2 == 0 ? 25 : 30);
      p.later(kDay);
    }
    DoseReport late = p.report();
    late.time = p.now - kReportsKept + hours(1);
    late.strength_percent = 80;
    CHECK_FALSE(p.watch.too_old(late, p.now));
    CHECK(causes_of(p.take(late)) == kOver);
  }
}

TEST_CASE("A report from the future is judged by the orders of now") {
  WatchedPump p(50);
  p.order(0);
  p.later(minutes(5));
  DoseReport ahead = p.report();
  ahead.time = p.now + 200 * kDay;
  ahead.strength_percent = 50;
  p.context.pump = &p.pump;
  CHECK(causes_of(p.watch.take(ahead, p.now, p.context)) == kNone);  // within the grace of now
  CHECK(p.watch.seen(ahead));
  p.later(minutes(30));
  CHECK(causes_of(p.strength(50)) == kFedInPlainWater);
}
