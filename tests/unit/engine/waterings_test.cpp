// What a bench's pots got, through the engine: days without water, salts, flushes, and what people
// tell.
#include "fed_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using Catch::Matchers::Contains;
using feeding::Cause;
using feeding::Feeding;
using feeding::RequestKind;

namespace {

std::function<void(feeding::Request&)> watered(double litres, std::optional<double> percent = {},
                                               std::optional<Instant> from = {}) {
  return [=](feeding::Request& r) {
    r.litres = litres;
    r.strength_percent = percent;
    r.from = from;
  };
}
std::function<void(feeding::Request&)> runoff(double ec, std::optional<Instant> from = {}) {
  return [=](feeding::Request& r) {
    r.ec = ec;
    r.from = from;
  };
}

}  // namespace

TEST_CASE(
    "No watering is told after the bench's own days, again after as many, and not after a "
    "watering") {
  FedSite site;
  site.settings->benches[0].watering_days = 4;
  site.settings->benches[1].watering_days = 2.5;
  site.days(4.1);
  auto told = site.notices(Cause::no_watering);
  REQUIRE(told.size() == 2);
  CHECK(told[0].bench == "mist");
  CHECK(told[0].time == *parse_rfc3339("2026-10-04T00:00:00Z"));
  CHECK(told[1].bench == "long");
  CHECK_THAT(told[1].text(), Contains("for 4 days (last: none yet)") && Contains("please check"));
  CHECK(told[1].evidence.json() == "{\"watering_days\":4.0}");

  site.gave(6, 0);  // 5 October, all benches
  const Instant by_pump = site.now;
  CHECK(site.bench_of("long").watered == by_pump);
  site.days(3.9);
  CHECK(site.notices(Cause::no_watering).size() == 3);
  REQUIRE(site.ask_bench(RequestKind::watered, "long", watered(2)).done);
  const Instant by_hand = site.now;
  site.days(3.9);
  told = site.notices(Cause::no_watering);
  CHECK(std::count_if(told.begin(), told.end(), [](const auto& d) { return d.bench == "long"; }) ==
        1);
  site.days(0.2);
  told = site.notices(Cause::no_watering);
  CHECK(told.back().bench == "long");
  CHECK(told.back().time == by_hand + 4 * kDay);
  CHECK_THAT(told.back().text(), Contains("(last: 9 October)"));
  site.days(4);
  CHECK_THAT(site.notices(Cause::no_watering).back().text(),
             Contains("for 8 days (last: 9 October)"));
}

TEST_CASE("A report without water, or a first total, is no watering") {
  FedSite site;
  site.days(1);
  site.dosed(site.report(0));
  feeding::DoseReport r = site.report();
  r.source = "meter";
  r.litres_total = 500;
  site.dosed(r);
  CHECK(site.bench_of("long").watered == kNever);
  site.later(hours(1));
  r.time = site.now;
  r.litres_total = 501;
  site.dosed(r);
  CHECK(site.bench_of("long").watered == site.now);
}

TEST_CASE(
    "What a pump gives is shared out by what the pots hold, and is salts by what it reports") {
  FedSite site;
  site.settings->benches[1].pots = 40;
  site.days(1);
  CHECK(std::isnan(site.bench_of("long").salts_ec));
  feeding::DoseReport r = site.report(9);
  r.ec = 1.0;
  site.dosed(r);
  CHECK(site.bench_of("long").salts_ec == Approx(site.bench_of("mist").salts_ec));
  // Nothing was known: 1.0 in 6 L, 3 L of it given, half of that drains: (6 + 3) / 7.5.
  CHECK(site.bench_of("long").salts_ec == Approx(1.2));
  r.bench = "long";
  r.time = site.now + minutes(1);
  r.runoff_ec = 3;
  r.litres.reset();
  site.later(minutes(1));
  site.dosed(r);
  CHECK(site.bench_of("long").salts_ec > 2);
  CHECK(site.bench_of("mist").salts_ec == Approx(1.2));
}

TEST_CASE("Salts come from the stock, or the strength, where nobody measures") {
  FedSite site;
  site.days(1);
  feeding::DoseReport r = site.report(12);  // 6 L a bench
  r.feed_ml = 60;                           // half strength: EC 0.7
  site.dosed(r);
  CHECK(site.bench_of("long").salts_ec == Approx((0.7 * 6 + 0.7 * 6) / 9));
  FedSite told;
  told.days(1);
  told.gave(12, 50);
  CHECK(told.bench_of("long").salts_ec == Approx(site.bench_of("long").salts_ec));
  FedSite nothing;  // on advice its strength goes out as 0
  nothing.days(1);
  nothing.dosed(nothing.report(12));
  CHECK(nothing.bench_of("long").salts_ec == Approx(0.4 * 12 / 9));
}

TEST_CASE("A flush is advised on a warm morning, with its litres, and again after a fortnight") {
  FedSite site;
  site.days(1);
  site.air = [](Instant) { return 11.0; };  // long's floor and 3 °C are 13
  REQUIRE(site.ask_bench(RequestKind::runoff, "long", runoff(2.5)).done);
  site.days(2);
  CHECK(site.notices(Cause::salts_up).empty());
  CHECK(site.bench_of("long").flush_l == 0);
  site.air = [](Instant) { return 16.0; };
  site.days(1);
  auto told = site.notices(Cause::salts_up);
  REQUIRE(told.size() == 1);
  CHECK(told[0].bench == "long");
  const double litres = 6 * std::log((2.5 - 0.4) / (0.6 - 0.4)) / 0.5;
  CHECK(site.bench_of("long").flush_l == Approx(litres).margin(0.05));
  CHECK_THAT(told[0].text(), Contains("EC 2.5 ± 0.3 mS/cm. Flush with about 28.2 L of plain water, "
                                      "on this or another morning that is 13 °C or warmer"));
  CHECK_THAT(told[0].evidence.json(), Contains("\"above_ec\":1.92") &&
                                          Contains("\"water_ec\":0.400") &&
                                          Contains("\"runoff_measured\""));
  site.days(7);
  CHECK(site.bench_of("long").flush_l == 0);  // nobody followed it
  CHECK(site.notices(Cause::salts_up).size() == 1);
  site.days(7);
  CHECK(site.notices(Cause::salts_up).size() == 2);
  REQUIRE(site.ask_bench(RequestKind::runoff, "long", runoff(0.5)).done);
  site.days(1);
  CHECK(site.bench_of("long").flush_l == 0);
  site.days(20);
  CHECK(site.notices(Cause::salts_up).size() == 2);
}

TEST_CASE("An advised flush is no leak") {
  FedSite site;
  site.line().daily_l = 20;
  site.days(1);
  REQUIRE(site.ask_bench(RequestKind::runoff, "long", runoff(2.5)).done);
  site.days(1);
  REQUIRE(site.bench_of("long").flush_l == Approx(28.2).margin(0.05));
  feeding::DoseReport flush = site.report(28);
  flush.bench = "long";
  site.dosed(flush);
  feeding::DoseReport other = site.report(18);  // of the same day, and another bench
  other.source = "mist";
  other.bench = "mist";
  site.dosed(other);
  CHECK(site.notices(Cause::daily_cap).empty());
  other.time += minutes(1);
  other.litres = 5;
  site.dosed(other);
  CHECK(site.notices(Cause::daily_cap).size() == 1);
}

TEST_CASE("A hold opens with a flush where salts are up, on its first warm morning, once") {
  FedSite site;
  site.days(1);
  REQUIRE(site.ask_bench(RequestKind::runoff, "long", runoff(1.5))
              .done);  // above the alarm, under what asks for a flush
  site.days(3);
  CHECK(site.notices(Cause::salts_up).empty());
  site.air = [](Instant) { return 11.0; };
  REQUIRE(site.ask_bench(RequestKind::hold, "long").done);
  site.days(3);
  CHECK(site.notices(Cause::salts_up).empty());
  site.air = [](Instant) { return 16.0; };
  site.days(1);
  const auto told = site.notices(Cause::salts_up);
  REQUIRE(told.size() == 1);
  CHECK_THAT(
      told[0].text(),
      Contains("A hold has begun, and salts get more concentrated as pots dry. Flush with about"));
  CHECK_THAT(told[0].evidence.json(),
             Contains("\"opens_hold\":1") && Contains("\"above_ec\":1.20"));
  site.days(20);
  CHECK(site.notices(Cause::salts_up).size() == 1);
  REQUIRE(site.ask_bench(RequestKind::release, "long").done);
  REQUIRE(site.ask_bench(RequestKind::hold, "long").done);
  site.days(1);
  CHECK(site.notices(Cause::salts_up).size() == 2);
}

TEST_CASE("Salty water is not advised for a flush") {
  FedSite site;
  site.settings->waters[1].ec = 1.2;
  site.days(1);
  REQUIRE(site.ask_bench(RequestKind::runoff, "long", runoff(3)).done);
  site.days(1);
  REQUIRE(site.notices(Cause::salts_up).size() == 1);
  CHECK_THAT(site.notices(Cause::salts_up)[0].text(),
             Contains("This water has EC 1.2 itself and cannot wash them out") && Contains("rain"));
  CHECK(site.bench_of("long").flush_l == 0);
}

TEST_CASE("A watering by hand needs its litres and a time that a person remembers") {
  FedSite site;
  site.days(40);
  CHECK(site.ask_bench(RequestKind::watered, "long").problem == "litres-missing");
  CHECK(site.ask_bench(RequestKind::watered, "long", watered(0)).problem == "litres-missing");
  CHECK(site.ask_bench(RequestKind::watered, "long", watered(2, 0, site.now + hours(1))).problem ==
        "in-the-future");
  CHECK(site.ask_bench(RequestKind::watered, "long", watered(2, 0, site.now - 31 * kDay)).problem ==
        "too-long-ago");
  CHECK(site.ask_bench(RequestKind::watered, "nowhere", watered(2)).problem == "unknown-bench");
  CHECK(site.bench_of("long").watered == kNever);
  CHECK(site.ask_bench(RequestKind::watered, "long", watered(2, 0, site.now - 2 * kDay)).done);
  CHECK(site.bench_of("long").watered == site.now - 2 * kDay);
  CHECK(site.bench_of("mist").watered == kNever);
}

TEST_CASE("Feed by hand is salts by the recipe, even above what a pump may give") {
  FedSite site;
  site.days(1);
  const auto reply = site.ask_bench(RequestKind::watered, "long", watered(6, 25));
  CHECK(reply.text() == "6.0 L at 25 % noted for bench long.");
  CHECK(site.bench_of("long").salts_ec == Approx(0.55 * 12 / 9));
  FedSite strong;
  for (Bench& bench : strong.settings->benches) bench.refusal_ec = 0.9;  // full strength has 1.0
  strong.days(1);
  strong.ask_bench(RequestKind::watered, "long", watered(6, 100));
  CHECK(strong.bench_of("long").salts_ec == Approx(1.0 * 12 / 9));
  FedSite bare;
  bare.line().recipe.clear();
  bare.line().water.clear();
  bare.days(1);
  CHECK_THAT(bare.ask_bench(RequestKind::watered, "long", watered(6, 25)).text(),
             Contains("cannot be estimated without a recipe and a water of its pump"));
  CHECK(std::isnan(bare.bench_of("long").salts_ec));
}

TEST_CASE("Feed by hand against the advice is told, unless it was right when it was given") {
  FedSite site;
  site.days(20);
  REQUIRE(site.bench_of("long").strength_percent == 50);
  CHECK(site.ask_bench(RequestKind::watered, "long", watered(2, 50)).done);
  CHECK(site.notices(Cause::fed_by_hand).empty());
  site.later(hours(2));
  REQUIRE(site.ask_bench(RequestKind::hold, "long").done);
  site.later(hours(2));
  const auto right =
      site.ask_bench(RequestKind::watered, "long", watered(2, 50, site.now - hours(3)));
  CHECK(right.text() == "2.0 L at 50 % noted for bench long.");
  CHECK(site.notices(Cause::fed_by_hand).empty());
  const auto wrong =
      site.ask_bench(RequestKind::watered, "long", watered(2, 50, site.now - hours(1)));
  CHECK(wrong.done);
  CHECK_THAT(wrong.text(), Contains("note that it may have plain water only."));
  REQUIRE(site.notices(Cause::fed_by_hand).size() == 1);
  CHECK_THAT(
      site.notices(Cause::fed_by_hand)[0].text(),
      Contains("Ines watered by hand with feed at 50 %, but the bench may have plain water only."));
  CHECK_THAT(site.notices(Cause::fed_by_hand)[0].evidence.json(),
             Contains("\"who\":\"Ines\"") && Contains("\"allowed_percent\":0"));
}

TEST_CASE("Runoff needs a reading, pots, and to be newer than the last") {
  FedSite site;
  site.settings->benches[1].pots = 0;
  site.days(2);
  CHECK(site.ask_bench(RequestKind::runoff, "long").problem == "ec-missing");
  CHECK(site.ask_bench(RequestKind::runoff, "mist", runoff(1)).problem == "no-pots");
  const auto reply = site.ask_bench(RequestKind::runoff, "long", runoff(1.4, site.now - hours(1)));
  CHECK_THAT(
      reply.text(),
      Contains("Runoff of EC 1.40 noted; the pots are now estimated at EC 1.40 ± 0.24 mS/cm."));
  CHECK(site.ask_bench(RequestKind::runoff, "long", runoff(3, site.now - hours(2))).problem ==
        "measured-since");
  CHECK(site.bench_of("long").salts_ec == Approx(1.4));
}
