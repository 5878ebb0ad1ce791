// What a pump gave against what it might give: each way to find out.
#include "feeding/dose_check.h"
#include "watched_pump.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

TEST_CASE("Conductivity is compared at 25 degrees") {
  DoseReport r;
  CHECK(std::isnan(ec_at_25(r)));
  r.ec = 0.9;
  r.water_c = 15;
  CHECK(ec_at_25(r) == 0.9);  // the meter did it
  r.ec_compensated = false;
  CHECK(ec_at_25(r) == Approx(0.9 / 0.8));
  r.water_c = 30;
  CHECK(ec_at_25(r) == Approx(0.9 / 1.1));
  r.water_c.reset();
  CHECK(std::isnan(ec_at_25(r)));
}

TEST_CASE("Feed in plain water is found by the strength that the pump tells alone") {
  WatchedPump p;
  CHECK(causes_of(p.strength(0)) == kNone);
  CHECK(causes_of(p.strength(0.5)) == kNone);
  CHECK(causes_of(p.strength(5)) == kFedInPlainWater);
  CHECK_THAT(p.told.back().text(),
             Contains("Pump line gave feed although plain water was ordered: "
                      "water, reported as 5 %. Please close its stock valve"));
  CHECK_THAT(p.told.back().evidence.json(), Contains("\"allowed_percent\":0,\"by\":\"strength\"") &&
                                                Contains("\"strength_percent\":5.0"));
}

TEST_CASE("Feed in plain water is found by the stock that is gone alone") {
  WatchedPump p;
  CHECK(causes_of(p.stock(0)) == kNone);
  CHECK(causes_of(p.stock(0.5)) == kNone);  // drops
  CHECK(causes_of(p.stock(0.6)) == kFedInPlainWater);
  CHECK_THAT(p.told.back().evidence.json(),
             Contains("\"by\":\"stock\"") && Contains("\"expected_feed_ml\":0.00"));
  SECTION("without litres") {
    WatchedPump q;
    CHECK(causes_of(q.stock(3, std::nullopt)) == kFedInPlainWater);
  }
  SECTION("though no water went out with it") {
    WatchedPump q;
    CHECK(causes_of(q.stock(3, 0)) == kFedInPlainWater);
  }
  SECTION("without a recipe") {
    WatchedPump q;
    q.context.full.reset();
    CHECK(causes_of(q.stock(3)) == kFedInPlainWater);
  }
}

TEST_CASE("Feed in plain water is found by conductivity alone") {
  WatchedPump p;
  CHECK(causes_of(p.ec(0.55)) == kNone);
  CHECK(causes_of(p.ec(0.551)) == kFedInPlainWater);
  CHECK_THAT(p.told.back().text(), Contains("at EC 0.55 mS/cm"));
  CHECK_THAT(p.told.back().evidence.json(), Contains("\"by\":\"ec\"") &&
                                                Contains("\"expected_ec\":0.400") &&
                                                Contains("\"ec_tolerance\":0.15"));
  SECTION("as measured in cold water") {
    WatchedPump q;
    DoseReport r = q.report();
    r.ec = 0.45;
    r.ec_compensated = false;
    r.water_c = 12;  // 0.608 at 25 °C
    CHECK(causes_of(q.take(r)) == kFedInPlainWater);
    CHECK_THAT(q.told.back().evidence.json(),
               Contains("2 %/K to 25 °C") && Contains("\"ec_25\":0.608"));
  }
  SECTION("what cannot be compensated accuses nobody") {
    WatchedPump q;
    DoseReport r = q.report();
    r.ec = 1.2;
    r.ec_compensated = false;
    CHECK(causes_of(q.take(r)) == kNone);
  }
  SECTION("without a recipe the water is known all the same") {
    WatchedPump q;
    q.context.full.reset();
    CHECK(causes_of(q.ec(0.8)) == kFedInPlainWater);
  }
  SECTION("without recipe and water only the refusal limit tells") {
    WatchedPump q;
    q.context.full.reset();
    q.context.water_ec.reset();
    CHECK(causes_of(q.ec(1.59)) == kNone);
    REQUIRE(causes_of(q.ec(1.61)) == kFedInPlainWater);
    CHECK_THAT(q.told.back().text(), Contains("above the refusal limit"));
    CHECK_THAT(q.told.back().evidence.json(), Contains("\"refusal_ec\":1.50"));
  }
}

TEST_CASE("No tolerance of conductivity is tighter than a meter") {
  WatchedPump p;
  p.pump.ec_tolerance = 0.02;
  CHECK(causes_of(p.ec(0.49)) == kNone);
  CHECK(causes_of(p.ec(0.51)) == kFedInPlainWater);
  CHECK_THAT(p.told.back().evidence.json(), Contains("\"ec_tolerance\":0.10"));
}

TEST_CASE("Purer water than that of the settings is no weak feed") {
  WatchedPump p;
  CHECK(causes_of(p.ec(0.02)) == kNone);  // a flush with rain
}

TEST_CASE("Too strong and too weak, by each channel") {
  WatchedPump p(50);
  CHECK(causes_of(p.strength(60)) == kNone);
  CHECK(causes_of(p.strength(60.1)) == kOver);
  CHECK_THAT(p.told.back().text(),
             Contains("stronger than the ordered 50 %") && Contains("reported as 60.1 %"));
  CHECK(causes_of(p.strength(40)) == kNone);
  CHECK(causes_of(p.strength(39)) == kUnder);
  CHECK_THAT(p.told.back().text(), Contains("weaker than the ordered 50 %"));
  WatchedPump stock(50);  // 50 mL in 10 L, 15 % and half a millilitre
  CHECK(causes_of(stock.stock(57.9)) == kNone);
  CHECK(causes_of(stock.stock(58.1)) == kOver);
  CHECK(causes_of(stock.stock(42.1)) == kNone);
  CHECK(causes_of(stock.stock(41.9)) == kUnder);
  WatchedPump ec(50);  // 0.7
  CHECK(causes_of(ec.ec(0.85)) == kNone);
  CHECK(causes_of(ec.ec(0.86)) == kOver);
  CHECK(causes_of(ec.ec(0.55)) == kNone);
  CHECK(causes_of(ec.ec(0.54)) == kUnder);
  CHECK(ec.told.back().evidence.json().find("\"expected_ec\":0.700") != std::string::npos);
}

TEST_CASE("A wrong ratio is found by the stock where the pump says that all is well") {
  WatchedPump p(50);
  DoseReport r = p.report();
  r.strength_percent = 50;
  r.litres = 20;
  r.feed_ml = 200;  // 1:100 instead of 1:200
  const DoseJudged judged = p.take(r);
  CHECK(causes_of(judged) == kOver);
  CHECK_THAT(judged.findings[0].text(), Contains("20.0 L with 200 mL of stock, reported as 50 %") &&
                                            Contains("check its injector"));
  CHECK_THAT(judged.findings[0].evidence.json(),
             Contains("\"by\":\"stock\"") && Contains("\"expected_feed_ml\":100.00"));
}

TEST_CASE("Too strong by one way outweighs too weak by another") {
  WatchedPump p(50);
  DoseReport r = p.report();
  r.strength_percent = 20;
  r.ec = 1.0;
  CHECK(causes_of(p.take(r)) == kOver);
  CHECK_THAT(p.told.back().evidence.json(), Contains("\"by\":\"ec\""));
}

TEST_CASE("Where no water went out, neither strength nor conductivity tells anything") {
  WatchedPump p;
  CHECK(causes_of(p.ec(1.0, 0)) == kNone);  // the probe stands in the feed of yesterday
  WatchedPump feeding(50);
  DoseReport idle = feeding.report();
  idle.litres = 0;
  idle.strength_percent = 0;
  CHECK(causes_of(feeding.take(idle)) == kNone);
  // The same by a total that does not grow.
  idle.litres.reset();
  for (int i = 0; i < 3; ++i) {
    feeding.later(minutes(1));
    idle.time = feeding.now;
    idle.litres_total = 500;
    idle.strength_percent = i == 0 ? 50 : 0;
    CHECK(causes_of(feeding.take(idle)) == kNone);
  }
}
