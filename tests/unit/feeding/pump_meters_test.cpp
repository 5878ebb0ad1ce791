// Meters that stop, stand still or tell of some days at once.
#include "watched_pump.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

TEST_CASE("A flow meter that says 0 hides no strength, and nothing above the refusal limit") {
  const double ec = GENERATE(0.4, 2.2);
  WatchedPump p;
  DoseReport r = p.report();
  r.litres = 0;
  r.strength_percent = ec < 1 ? 100 : 0;
  r.ec = ec;
  CHECK(causes_of(p.take(r)) == Causes{Cause::fed_in_plain_water});
}

TEST_CASE("Above the refusal limit, by more than a meter may be off, is always too much") {
  WatchedPump p(100);
  p.context.full->ec = 1.45;
  p.context.full->ec_per_100ppm_n = 1.05;
  p.pump.ec_tolerance = 2;
  CHECK(p.ec(1.59, 10).findings.empty());
  p.later(hours(1));
  const auto judged = p.ec(1.61, 10);
  CHECK(causes_of(judged) == Causes{Cause::over_strength});
  CHECK_THAT(judged.findings[0].text(), Contains("above the refusal limit"));
}

TEST_CASE("A meter that stopped excuses the water of before for a day, not for ever") {
  WatchedPump p(50);
  p.stock(50);
  p.later(hours(1));
  p.order(0);
  p.later(hours(20));
  CHECK(p.ec(0.7).findings.empty());  // a probe may stand in what was there
  p.later(hours(5));
  CHECK(causes_of(p.ec(0.7)) == Causes{Cause::fed_in_plain_water});
}

TEST_CASE("What a total tells of some days counts evenly, not as one day's") {
  WatchedPump p(50);
  p.pump.daily_l = 12;
  p.pump.daily_feed_ml = 60;
  DoseReport r = p.report();
  r.litres_total = 0;
  r.feed_ml_total = 0;
  p.take(r);
  p.later(5 * kDay);
  r.time = p.now;
  r.litres_total = 50;
  r.feed_ml_total = 250;
  CHECK(p.take(r).findings.empty());
  p.later(5 * kDay);
  r.time = p.now;
  r.litres_total = 150;
  r.feed_ml_total = 750;
  CHECK(causes_of(p.take(r)) == Causes{Cause::daily_cap, Cause::daily_cap});
}

TEST_CASE("Reports of one watering cost no more trust than one of them") {
  WatchedPump p;
  for (int i = 0; i < 9; ++i) {
    p.strength(50);
    p.later(minutes(1));
  }
  CHECK(p.watch.trusted());
  for (int i = 0; i < 2; ++i) {
    p.later(minutes(10));
    p.strength(50);
  }
  CHECK_FALSE(p.watch.trusted());
}

TEST_CASE("A watering that the order changed under is judged by all that was in force") {
  WatchedPump p(50);
  p.later(minutes(30));
  p.order(0);
  p.later(minutes(25));
  DoseReport r = p.report();
  r.litres = 30;
  r.feed_ml = 75;
  r.strength_percent = 0;
  SECTION("when it says that it began before") {
    r.began = p.now - minutes(40);
    CHECK(p.take(r).findings.empty());
  }
  SECTION("and else by its end") {
    CHECK(causes_of(p.take(r)) == Causes{Cause::fed_in_plain_water});
  }
}
