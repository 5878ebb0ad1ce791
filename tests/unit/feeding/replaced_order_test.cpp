// A pump that was out of reach and says which order it followed.
#include "watched_pump.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {

/// Feed at half strength until now, plain water from now on.
struct CutOff : WatchedPump {
  Instant replaced;
  CutOff() : WatchedPump(50) {
    context.order_valid = hours(26);
    replaced = now;
    order(0);
    later(hours(2));
  }
  DoseJudged fed_by(Instant followed) {
    DoseReport r = report();
    r.litres = 10;
    r.feed_ml = 50;
    r.epoch = 1;
    r.sequence = to_seconds(followed);
    return take(r);
  }
};

}  // namespace

TEST_CASE("A pump that followed an order which had been replaced is told of, and may be trusted") {
  CutOff p;
  const Instant order_of_before = p.replaced - hours(1);
  for (int i = 0; i < 5; ++i) {
    p.fed_by(order_of_before);
    p.later(minutes(30));
  }
  CHECK(p.count(Cause::fed_in_plain_water) == 1);
  CHECK_THAT(p.told.front().text(), Contains("had been replaced but had not expired"));
  CHECK(p.watch.trusted());
}

TEST_CASE("Once that order has expired, each report counts") {
  CutOff p;
  const Instant order_of_before = p.replaced - hours(1);
  p.later(hours(23) - minutes(1));  // 26 h but a minute after it
  p.fed_by(order_of_before);
  CHECK(p.watch.trusted());
  for (int i = 0; i < 3; ++i) {
    p.later(minutes(15));
    p.fed_by(order_of_before);
  }
  CHECK_FALSE(p.watch.trusted());
}

TEST_CASE(
    "The order in force, one from the future and one that locked the stock too are no excuse") {
  for (const Span after : {Span(0), Span(hours(1)), Span(hours(9))}) {
    CutOff p;
    for (int i = 0; i < 3; ++i) {
      p.fed_by(p.replaced + after);
      p.later(minutes(30));
    }
    CHECK_FALSE(p.watch.trusted());
  }
}

TEST_CASE("An order by half a second is told from the one before it by its number") {
  WatchedPump p(50);
  p.now += milliseconds(500);
  p.order(0);  // its number is the whole second
  const Instant asked = from_seconds(to_seconds(p.now));
  for (int i = 0; i < 3; ++i) {
    p.later(minutes(30));
    DoseReport r = p.report();
    r.litres = 10;
    r.feed_ml = 50;
    r.sequence = to_seconds(asked);
    p.take(r);
  }
  CHECK_FALSE(p.watch.trusted());
}

TEST_CASE("An order that has been replaced excuses what it allowed, and no more") {
  for (const double ml : {50.0, 80.0}) {
    CutOff p;
    for (int i = 0; i < 3; ++i) {
      DoseReport r = p.report();
      r.litres = 10;
      r.feed_ml = ml;
      r.sequence = to_seconds(p.replaced - hours(1));
      p.take(r);
      p.later(minutes(30));
    }
    CHECK(p.watch.trusted() == (ml == 50));
  }
}
