// Pumps through the engine: reports, trust, arming, silence, and benches that share one.
#include "fed_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using Catch::Matchers::Contains;
using feeding::Cause;
using feeding::DecisionKind;
using feeding::Feeding;
using feeding::RequestKind;

namespace {

/// A month has passed at 20 °C: both benches are fed, the pump is armed.
FedSite fed() {
  FedSite site;
  site.days(20);
  site.arm();
  site.later(hours(1));
  REQUIRE(site.pump().feeding != Feeding::plain_water);
  return site;
}

}  // namespace

TEST_CASE("What becomes of a dose report") {
  FedSite site = fed();
  CHECK(site.gave(5, site.pump().strength_percent) == TakenDose::used);
  CHECK(site.gave(5, site.pump().strength_percent) == TakenDose::repeated);
  feeding::DoseReport r = site.report(5);
  r.pump = "other";
  CHECK(site.dosed(r) == TakenDose::unknown);
  r = site.report(5);
  r.bench = "nowhere";
  CHECK(site.dosed(r) == TakenDose::unknown);
  r = site.report(5);
  r.time = site.now - 30 * kDay;  // before the engine began
  CHECK(site.dosed(r) == TakenDose::history);
  CHECK(site.engine->counters().at("dose-repeated") == 1);
  CHECK(site.engine->counters().at("dose-unknown") == 2);
  CHECK(site.engine->counters().at("dose-history") == 1);
  CHECK(site.notices(Cause::over_strength).empty());
}

TEST_CASE("A report names a bench of its pump, or none") {
  FedSite site;
  Pump other;
  other.name = "other";
  other.benches = {"mist"};
  site.settings->pumps.push_back(other);
  site.line().benches = {"long"};
  site.days(2);
  feeding::DoseReport r = site.report(5);
  r.bench = "mist";
  CHECK(site.dosed(r) == TakenDose::unknown);
  r.bench = "long";
  CHECK(site.dosed(r) == TakenDose::used);
  CHECK(site.bench_of("long").watered == site.now);
  CHECK(site.bench_of("mist").watered == kNever);
}

TEST_CASE(
    "A pump that is no longer trusted gives plain water until somebody says trust; feed comes back "
    "by the ramp") {
  FedSite site = fed();
  REQUIRE(site.pump().strength_percent == 50);
  site.disobey();
  for (const auto& bench : site.engine->benches()) {
    CHECK(bench.feeding == Feeding::plain_water);
    CHECK(bench.cause == Cause::pump_untrusted);
    CHECK_THAT(words::in_english(bench.because), Contains("its pump disobeyed and is not trusted"));
  }
  CHECK(site.pump().feeding == Feeding::plain_water);
  const auto told = site.notices(Cause::pump_untrusted);
  REQUIRE(told.size() == 1);
  CHECK(told[0].bench.empty());
  CHECK(told[0].feeding == Feeding::plain_water);
  CHECK(told[0].strength_percent == 0);
  CHECK(site.notices(Cause::over_strength).size() == 1);

  const auto arm = site.ask_pump(RequestKind::arm);
  CHECK_FALSE(arm.done);
  CHECK(arm.problem == "pump-untrusted");
  CHECK(site.ask_pump(RequestKind::disarm).done);  // which is always allowed
  site.days(10);
  CHECK(site.bench_of("long").feeding == Feeding::plain_water);

  CHECK(site.ask_pump(RequestKind::trust).done);
  CHECK(site.pump().trusted);
  CHECK(site.bench_of("long").strength_percent == 25);
  CHECK(site.out.decisions.back().cause == Cause::pump_trusted);
  CHECK(site.out.decisions.back().strength_percent == 25);
  CHECK(site.ask_pump(RequestKind::trust).problem == "trusted-already");
  CHECK_FALSE(site.pump().armed);
  CHECK(site.ask_pump(RequestKind::arm).done);
  site.days(6);
  CHECK(site.bench_of("long").strength_percent == 25);
  site.days(2);
  CHECK(site.bench_of("long").strength_percent == 50);
}

TEST_CASE("A pump that is not trusted comes before all else, and a hold goes on behind it") {
  FedSite site = fed();
  REQUIRE(site.ask_bench(RequestKind::hold, "long", [&](auto& r) { r.until = site.now + 5 * kDay; })
              .done);
  site.later(hours(1));
  site.disobey();
  CHECK(site.bench_of("long").cause == Cause::pump_untrusted);
  CHECK(site.bench_of("long").hold);
  site.air = [](Instant) { return 4.0; };
  site.days(1);
  CHECK(site.told_of(Cause::chill));
  CHECK(site.bench_of("long").cause == Cause::pump_untrusted);
  site.air = [](Instant) { return 20.0; };
  SECTION("trust gives way to the chill") {
    REQUIRE(site.ask_pump(RequestKind::trust).done);
    CHECK(site.bench_of("long").cause == Cause::chill);
    CHECK(site.bench_of("mist").feeding == Feeding::plain_water);
  }
  SECTION("the end of the hold brings no feed, and says so") {
    site.days(6);
    CHECK_FALSE(site.bench_of("long").hold);
    const auto ended = site.told(DecisionKind::hold_ended);
    REQUIRE(ended.size() == 1);
    CHECK(ended[0].feeding == Feeding::plain_water);
    CHECK_THAT(ended[0].text(), Contains("plain water goes on: its pump disobeyed"));
  }
  SECTION("nor does a release") {
    const auto reply = site.ask_bench(RequestKind::release, "long", [](auto& r) { r.full = true; });
    CHECK(reply.done);
    CHECK_THAT(reply.text(), Contains("plain water goes on: its pump disobeyed"));
    CHECK(site.bench_of("long").strength_percent == 0);
  }
}

TEST_CASE("A report of a week ago is judged by the order of that day") {
  FedSite site = fed();
  const feeding::DoseReport while_fed = [&] {
    feeding::DoseReport r = site.report(5);
    r.strength_percent = 50;
    return r;
  }();
  site.later(hours(1));
  REQUIRE(site.ask_bench(RequestKind::hold, "long").done);
  site.days(7);
  CHECK(site.dosed(while_fed) == TakenDose::used);
  CHECK(site.notices(Cause::fed_in_plain_water).empty());
  CHECK(site.bench_of("long").watered == while_fed.time);
  feeding::DoseReport held = while_fed;
  held.time += 2 * kDay;
  site.dosed(held);
  REQUIRE(site.notices(Cause::fed_in_plain_water).size() == 1);
  CHECK(site.notices(Cause::fed_in_plain_water)[0].feeding == Feeding::plain_water);
}

TEST_CASE("A report from the future counts as now, once") {
  FedSite site = fed();
  feeding::DoseReport r = site.report(5);
  r.time += 90 * kDay;
  CHECK(site.dosed(r) == TakenDose::used);
  CHECK(site.dosed(r) == TakenDose::repeated);
  CHECK(site.bench_of("mist").watered == site.now);
}

TEST_CASE(
    "A shared pump follows its most careful bench, and asks on the 28th and 56th day that others "
    "lose") {
  FedSite site = fed();
  CHECK(site.pump().limited_by.empty());
  REQUIRE(
      site.ask_bench(RequestKind::hold, "long", [&](auto& r) { r.until = site.now + 100 * kDay; })
          .done);
  CHECK(site.pump().limited_by == "long");
  CHECK(site.pump().feeding == Feeding::plain_water);
  CHECK(site.bench_of("mist").feeding != Feeding::plain_water);
  site.days(27);
  CHECK(site.pump().behind.at("mist") == 27);
  CHECK(site.pump().behind.at("long") == 0);
  CHECK(site.notices(Cause::shared_pump).empty());
  site.days(1);
  REQUIRE(site.notices(Cause::shared_pump).size() == 1);
  const auto asked = site.notices(Cause::shared_pump)[0];
  CHECK(asked.bench == "mist");
  CHECK_THAT(asked.text(),
             Contains("Bench mist has had less feed than allowed on 28 days, because its "
                      "pump line follows its most restricted bench, now long"));
  REQUIRE(site.bench_of("mist").questions.size() == 1);
  site.days(27);
  CHECK(site.notices(Cause::shared_pump).size() == 1);
  site.days(1);
  CHECK(site.notices(Cause::shared_pump).size() == 2);
  REQUIRE(site.ask_bench(RequestKind::release, "long", [](auto& r) { r.full = true; }).done);
  site.days(3);
  CHECK(site.pump().behind.at("mist") == 53);
}

TEST_CASE("Where the pump cannot give its dose, the most careful bench does not lose by itself") {
  FedSite site;
  site.line().least_ml_per_litre = 4;  // 25 % would be 2.5
  site.days(20);
  REQUIRE(
      site.ask_bench(RequestKind::hold, "long", [&](auto& r) { r.until = site.now + kDay; }).done);
  site.days(2);
  REQUIRE(site.bench_of("long").strength_percent == 25);
  REQUIRE(site.bench_of("mist").strength_percent == 50);
  CHECK(site.pump().feeding == Feeding::plain_water);
  CHECK(site.pump().limited_by == "long");
  site.days(3);
  CHECK(site.pump().behind.at("mist") == 5);
  CHECK(site.pump().behind.at("long") == 0);
}

TEST_CASE("A silent pump is told once, and its return") {
  FedSite site;
  site.line().silent_h = 36;
  site.days(3);  // it never reported at all
  REQUIRE(site.notices(Cause::pump_silent).size() == 1);
  CHECK(site.notices(Cause::pump_silent)[0].time == *parse_rfc3339("2026-10-03T00:00:00Z"));
  CHECK_THAT(site.notices(Cause::pump_silent)[0].text(),
             Contains("Pump line has reported nothing for 36 hours"));
  CHECK(site.pump().silent);
  site.days(5);
  CHECK(site.notices(Cause::pump_silent).size() == 1);
  site.gave(5, 0);
  CHECK_FALSE(site.pump().silent);
  REQUIRE(site.notices(Cause::pump_reports).size() == 1);
  CHECK(site.pump().last_report == site.now);
  site.days(1);
  CHECK(site.notices(Cause::pump_silent).size() == 1);
  site.days(1);
  CHECK(site.notices(Cause::pump_silent).size() == 2);
}

TEST_CASE("Arm, disarm and trust want a pump that there is") {
  FedSite site;
  site.days(1);
  for (const auto kind : {RequestKind::arm, RequestKind::disarm, RequestKind::trust})
    CHECK(site.ask_pump(kind, "other").problem == "unknown-pump");
}

TEST_CASE("The day's water is that of all benches, with the flush of each, on the site's clocks") {
  FedSite site;
  site.line().daily_l = 30;
  // One hour east until 25 October 01:00 UTC, none after it: that day has 25 hours.
  site.settings->site.offsets = {{Instant{}, 3600}, {*parse_rfc3339("2026-10-25T01:00:00Z"), 0}};
  site.now = *parse_rfc3339("2026-10-20T12:00:00Z");
  site.days(1);
  const auto give = [&](const char* at, double litres) {
    feeding::DoseReport r = site.report(litres);
    r.time = *parse_rfc3339(at);
    site.now = std::max(site.now, r.time);
    site.engine->advance(site.now, site.out);
    r.strength_percent = 0;
    return site.dosed(r);
  };
  give("2026-10-24T22:59:00Z", 29);
  give("2026-10-24T23:00:00Z", 15);  // midnight by the clocks
  give("2026-10-25T23:59:00Z", 15);  // 25 hours later, and still the same day
  CHECK(site.notices(Cause::daily_cap).empty());
  give("2026-10-25T23:59:30Z", 1);
  REQUIRE(site.notices(Cause::daily_cap).size() == 1);
  CHECK_THAT(site.notices(Cause::daily_cap)[0].text(), Contains("gave 31.0 L on 25 October"));
  give("2026-10-26T00:00:00Z", 29);
  CHECK(site.notices(Cause::daily_cap).size() == 1);
}
