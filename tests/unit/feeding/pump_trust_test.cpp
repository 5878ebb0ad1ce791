// How a disobedient pump is told of, when it is trusted no longer, and its caps by day.
#include "feeding/pump_phrases.h"
#include "watched_pump.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {
const Causes kDailyCap{Cause::daily_cap};
}  // namespace

TEST_CASE(
    "An episode is told when it begins, once a day while it lasts, and anew after an obedient "
    "report") {
  WatchedPump p;
  p.pump.untrusted_after = 100;
  CHECK(causes_of(p.strength(50)) == kFedInPlainWater);
  for (int hour = 1; hour < 20; ++hour) {
    p.later(hours(1));
    CHECK(causes_of(p.strength(50)) == kNone);
  }
  p.later(hours(1));
  CHECK(causes_of(p.strength(50)) == kFedInPlainWater);
  CHECK_THAT(p.told.back().evidence.json(), Contains("\"reports_since_told\":19"));
  p.later(hours(1));
  CHECK(causes_of(p.strength(0)) == kNone);
  p.later(hours(1));
  CHECK(causes_of(p.strength(50)) == kFedInPlainWater);
  CHECK(p.told.back().evidence.json().find("reports_since_told") == std::string::npos);
}

TEST_CASE("A report that nothing can be judged by ends no episode") {
  WatchedPump p;
  p.strength(50);
  p.later(hours(1));
  DoseReport water = p.report();
  water.litres = 5;
  p.take(water);
  p.later(hours(1));
  CHECK(causes_of(p.strength(50)) == kNone);
}

TEST_CASE("A pump that says it gives none does not end what the probe finds") {
  WatchedPump p;
  p.pump.untrusted_after = 100;
  CHECK(causes_of(p.ec(1.0)) == kFedInPlainWater);
  for (int i = 0; i < 5; ++i) {
    p.later(minutes(1));
    CHECK(causes_of(p.strength(0)) == kNone);
    p.later(minutes(1));
    CHECK(causes_of(p.ec(1.0)) == kNone);
  }
  p.later(minutes(1));
  p.ec(0.4);
  p.later(minutes(1));
  CHECK(causes_of(p.ec(1.0)) == kFedInPlainWater);
}

TEST_CASE("Another fault is another episode") {
  WatchedPump p;
  CHECK(causes_of(p.strength(80)) == kFedInPlainWater);
  p.order(50);
  p.later(hours(1));
  CHECK(causes_of(p.strength(80)) == Causes{Cause::over_strength});
  p.later(hours(1));
  CHECK(causes_of(p.strength(10)) == Causes{Cause::under_strength});
}

TEST_CASE("A pump on advice is told of, and trusted all the same") {
  WatchedPump p(0, false);
  CHECK(causes_of(p.strength(50)) == Causes{Cause::fed_against_advice});
  CHECK_THAT(p.told.back().text(),
             Contains("on advice only; feed went out although the advice is plain water"));
  p.order(25, false);
  p.later(hours(1));
  CHECK(causes_of(p.strength(0)) == kNone);  // nobody follows an advice to the letter
  p.later(hours(1));
  CHECK(causes_of(p.strength(80)) == Causes{Cause::fed_against_advice});
  CHECK_THAT(p.told.back().text(), Contains("stronger than the advised 25 %"));
  for (int i = 0; i < 10; ++i) {
    p.later(kDay);
    p.strength(80);
  }
  CHECK(p.watch.trusted());
  p.order(25, true);  // the advice of a moment ago still counts for the grace
  p.later(minutes(5));
  p.strength(80);
  CHECK_FALSE(p.lost_trust);
}

TEST_CASE("Three disobedient reports within a fortnight cost the trust") {
  WatchedPump p;
  p.strength(50);
  p.later(7 * kDay);
  p.strength(50);
  CHECK(p.watch.trusted());
  p.later(7 * kDay);
  const DoseJudged third = p.strength(50);
  CHECK(third.lost_trust);
  CHECK_FALSE(p.watch.trusted());
  CHECK(third.findings.back().cause == Cause::pump_untrusted);
  CHECK_THAT(third.findings.back().text(),
             Contains("Pump line disobeyed 3 times within 14 days and is no longer trusted") &&
                 Contains("(plainwater trust line)"));
  CHECK_THAT(third.findings.back().evidence.json(),
             Contains("\"disobedient_reports\":3,\"first\":\"2026-10-21T12:00:00Z\""));
  p.later(hours(1));
  CHECK_FALSE(p.strength(50).lost_trust);  // it is lost once
  CHECK(p.count(Cause::pump_untrusted) == 1);
}

TEST_CASE("Three in more than a fortnight do not, and weak feed never does") {
  WatchedPump p;
  for (int i = 0; i < 6; ++i) {
    p.strength(50);
    p.later(7 * kDay + hours(1));
  }
  CHECK(p.watch.trusted());
  WatchedPump weak(50);
  for (int i = 0; i < 6; ++i) {
    weak.strength(5);
    weak.later(kDay);
  }
  CHECK(weak.watch.trusted());
}

TEST_CASE("A backlog counts by its own times, in whatever order it comes") {
  WatchedPump spread;
  std::vector<DoseReport> reports;
  for (int i = 0; i < 4; ++i) {
    DoseReport r = spread.report();
    r.strength_percent = 50;
    reports.push_back(r);
    spread.later(8 * kDay);
  }
  for (const int i : {3, 0, 2, 1}) spread.take(reports[static_cast<std::size_t>(i)]);
  CHECK(spread.watch.trusted());  // never three within fourteen days
  CHECK(spread.count(Cause::fed_in_plain_water) == 1);
  DoseReport close = reports[3];
  close.time += hours(1);
  spread.take(close);
  CHECK_FALSE(spread.watch.trusted());
}

TEST_CASE("Two reports of one moment are one disobedience") {
  WatchedPump p;
  for (const char* source : {"line", "probe", "meter"}) {
    DoseReport r = p.report();
    r.source = source;
    r.strength_percent = 50;
    p.take(r);
  }
  CHECK(p.watch.trusted());
}

TEST_CASE("A report from the future does not wipe out the disobedience of before") {
  WatchedPump p;
  p.context.pump = &p.pump;
  p.strength(50);
  p.later(hours(1));
  DoseReport ahead = p.report();
  ahead.time = p.now + 300 * kDay;
  ahead.strength_percent = 50;
  p.watch.take(ahead, p.now, p.context);
  p.later(hours(1));
  p.strength(50);
  CHECK_FALSE(p.watch.trusted());
}

TEST_CASE("Trust begins anew; what the pump did before it counts no longer") {
  WatchedPump p;
  std::vector<DoseReport> before;
  for (int i = 0; i < 6; ++i) {
    DoseReport r = p.report();
    r.strength_percent = 50;
    before.push_back(r);
    p.later(hours(1));
  }
  for (int i = 0; i < 3; ++i) p.take(before[static_cast<std::size_t>(i)]);
  CHECK_FALSE(p.watch.trusted());
  p.watch.trust(p.now);
  CHECK(p.watch.trusted());
  for (int i = 3; i < 6; ++i) p.take(before[static_cast<std::size_t>(i)]);
  CHECK(p.watch.trusted());
  CHECK(p.count(Cause::fed_in_plain_water) == 2);  // told anew, though
  for (int i = 0; i < 2; ++i) {
    p.later(hours(1));
    p.strength(50);
  }
  CHECK(p.watch.trusted());
  p.later(hours(1));
  p.strength(50);
  CHECK_FALSE(p.watch.trusted());
}

TEST_CASE("More than a day's stock is told once a day and counts as disobedience") {
  WatchedPump p(50);
  p.pump.daily_feed_ml = 120;
  CHECK(causes_of(p.stock(60)) == Causes{Cause::over_strength});
  p.later(hours(1));
  CHECK(causes_of(p.stock(50)) == kNone);
  p.later(hours(1));
  CHECK(causes_of(p.stock(50)) == kDailyCap);
  CHECK_THAT(p.told.back().text(),
             Contains("Pump line gave 160 mL of stock on 21 October, more than "
                      "the 120 mL a day of its settings"));
  CHECK_THAT(p.told.back().evidence.json(),
             Contains("\"feed_ml\":160.0") && Contains("\"daily_feed_ml\":120.0"));
  p.later(hours(1));
  CHECK(causes_of(p.stock(50)) == kNone);
  p.later(kDay);
  CHECK(causes_of(p.stock(50)) == kNone);
  for (int i = 0; i < 3; ++i) {
    p.later(hours(1));
    p.stock(50);
  }
  CHECK(p.count(Cause::daily_cap) == 2);
  CHECK_FALSE(p.watch.trusted());  // with the strong one of the first day
}

TEST_CASE("More than a day's water is told, but costs no trust, and hides no stock") {
  WatchedPump p(50);
  p.pump.daily_l = 25;
  p.pump.daily_feed_ml = 160;
  p.stock(50);
  p.later(hours(1));
  p.stock(50);
  p.later(hours(1));
  CHECK(causes_of(p.stock(50)) == kDailyCap);
  CHECK_THAT(p.told.back().text(),
             Contains("gave 30.0 L on 21 October, more than the 25.0 L a day") && Contains("leak"));
  p.later(hours(1));
  CHECK(causes_of(p.stock(50)) == kDailyCap);
  CHECK_THAT(p.told.back().text(), Contains("200 mL of stock"));
  CHECK(p.watch.trusted());
}

TEST_CASE("An advised flush has an allowance of its own") {
  WatchedPump p;
  p.pump.daily_l = 25;
  p.context.flush_l = 40;
  p.stock(0, 65);
  CHECK(p.told.empty());
  p.later(hours(1));
  CHECK(causes_of(p.stock(0, 1)) == kDailyCap);
  CHECK_THAT(p.told.back().text(),
             Contains("66.0 L") &&
                 Contains("the 25.0 L a day of its settings and the 40.0 L of the advised flush"));
  CHECK_THAT(p.told.back().evidence.json(), Contains("\"flush_litres\":40.0"));
}

TEST_CASE("Late water counts on its own day") {
  WatchedPump p;
  p.pump.daily_l = 25;
  p.stock(0, 20);
  DoseReport late = p.report();
  late.litres = 20;
  late.time = p.now - kDay;
  p.take(late);
  CHECK(p.told.empty());
  late.time -= hours(1);
  CHECK(causes_of(p.take(late)) == kDailyCap);
  CHECK_THAT(p.told.back().text(), Contains("on 20 October"));
}

TEST_CASE("Amounts are written as a person would") {
  CHECK(words::in_english(words::say("as-it-is", {{"text", phrases::amount(0.25)}})) == "0.25");
  CHECK(words::in_english(words::say("as-it-is", {{"text", phrases::amount(4.04)}})) == "4.0");
  CHECK(words::in_english(words::say("as-it-is", {{"text", phrases::amount(12.345)}})) == "12.3");
  CHECK(words::in_english(words::say("as-it-is", {{"text", phrases::amount(12'345.6)}})) ==
        "12346");
}
