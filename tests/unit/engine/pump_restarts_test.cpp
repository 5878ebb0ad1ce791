// What the watch over pumps and pots keeps through a restart, and what other settings change.
#include "fed_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using Catch::Matchers::Contains;
using feeding::Cause;
using feeding::Feeding;
using feeding::RequestKind;

namespace {

/// Three weeks in, with all that a state can hold: an armed pump, reports, salts, a flush advised,
/// days behind.
FedSite lived() {
  FedSite site;
  site.line().daily_l = 100;
  site.line().line_l = 5;
  site.line().silent_h = 200;
  site.settings->benches[0].watering_days = 5;
  site.days(16);
  site.arm();
  site.later(hours(1));
  site.gave(5, 25);
  REQUIRE(site.ask_bench(RequestKind::runoff, "long", [](auto& r) { r.ec = 2.5; }).done);
  REQUIRE(
      site.ask_bench(RequestKind::hold, "long", [&](auto& r) { r.until = site.now + 40 * kDay; })
          .done);
  site.days(3);
  site.gave(4, 50);  // in plain water
  site.later(hours(1));
  REQUIRE(site.bench_of("long").flush_l > 0);
  REQUIRE(site.pump().behind.at("mist") == 3);
  return site;
}

void same(FedSite& a, FedSite& b) {
  CHECK(a.engine->snapshot() == b.engine->snapshot());
  std::string left, right;
  for (const auto& d : a.out.decisions) left += to_json(d) + "\n";
  for (const auto& d : b.out.decisions) right += to_json(d) + "\n";
  CHECK(left == right);
}

}  // namespace

TEST_CASE("A restart keeps the watch over pumps and pots, byte by byte, and what follows from it") {
  FedSite whole = lived(), stopped = lived();
  const std::string bytes = stopped.engine->snapshot();
  stopped.restart();
  CHECK(stopped.engine->snapshot() == bytes);
  for (FedSite* site : {&whole, &stopped}) {
    site->gave(6, 50);
    CHECK(site->gave(6, 50) == TakenDose::repeated);
    site->later(hours(1));
    site->gave(30, 0);
  }
  same(whole, stopped);
  CHECK(whole.pump().trusted);
  for (FedSite* site : {&whole, &stopped}) {
    site->days(2);
    site->gave(6, 50);
    site->days(12);
  }
  same(whole, stopped);
  CHECK_FALSE(whole.pump().trusted);
  stopped.restart();
  for (FedSite* site : {&whole, &stopped}) {
    CHECK(site->ask_pump(RequestKind::arm).problem == "pump-untrusted");
    CHECK(site->ask_pump(RequestKind::trust).done);
    site->days(3);
  }
  same(whole, stopped);
}

TEST_CASE("Another dose puts the pump on advice again and says so; the same dose does not") {
  FedSite site = lived();
  const auto same_dose = site.copy();
  same_dose->pumps[0].ec_tolerance = 0.3;
  same_dose->benches[0].watering_days = 9;
  site.restart(same_dose);
  site.later(minutes(1));
  CHECK(site.pump().armed);
  CHECK(site.notices(Cause::recipe_changed).empty());

  const auto change = GENERATE(0, 1, 2, 3, 4, 5);
  const auto other = site.copy();
  switch (change) {
    case 0: other->recipes[0].injector_ratio = 200; break;
    case 1: other->recipes[0].label = "30-10-10"; break;
    case 2: other->waters[1].ec = 0.5; break;
    case 3: other->pumps[0].water = "rain"; break;
    case 4: other->pumps[0].step_ml_per_litre = 0.1; break;
    case 5: other->pumps[0].recipe.clear(); break;
  }
  site.restart(other);
  site.later(minutes(1));
  CHECK_FALSE(site.pump().armed);
  REQUIRE(site.notices(Cause::recipe_changed).size() == 1);
  const auto told = site.notices(Cause::recipe_changed)[0];
  CHECK(told.bench.empty());
  CHECK_THAT(told.text(),
             Contains("Pump line is on advice again") && Contains("arm it when it is right"));
  CHECK_THAT(
      told.evidence.json(),
      Contains("\"armed_with\":\"growth, 15-5-15, 10.0000 mL/L, 100.00 ppm N, EC 1.000 on 0.400"));
  site.restart();
  site.days(1);
  CHECK(site.notices(Cause::recipe_changed).size() == 1);
  REQUIRE(site.ask_pump(RequestKind::arm).done);
  site.restart();
  site.later(minutes(1));
  CHECK(site.pump().armed);
}

TEST_CASE("A bench that moves to another pump is fed again when somebody says so, by the ramp") {
  FedSite site = lived();
  site.disobey();
  REQUIRE(site.bench_of("mist").cause == Cause::pump_untrusted);
  const auto moved = site.copy();
  moved->pumps[0].benches = {"long"};
  Pump other = moved->pumps[0];
  other.name = "other";
  other.benches = {"mist"};
  moved->pumps.push_back(other);
  site.restart(moved);
  site.later(minutes(1));
  CHECK(site.bench_of("long").cause == Cause::pump_untrusted);
  CHECK(site.bench_of("mist").cause == Cause::pump_untrusted);
  CHECK_FALSE(site.engine->pumps()[1].trusted);
  CHECK(site.ask_pump(RequestKind::arm, "other").problem == "pump-untrusted");
  CHECK(site.ask_pump(RequestKind::trust, "other").done);
  CHECK(site.bench_of("mist").strength_percent == 25);
  CHECK(site.bench_of("long").cause == Cause::pump_untrusted);
  CHECK(site.engine->pumps()[0].behind.count("mist") == 0);
  CHECK_FALSE(site.engine->pumps()[1].armed);
  SECTION("and back again") {
    const auto back = site.copy();
    back->pumps.pop_back();
    back->pumps[0].benches = {"long", "mist"};
    site.restart(back);
    site.later(minutes(1));
    CHECK(site.bench_of("mist").cause == Cause::pump_untrusted);
  }
}

TEST_CASE("A bench new on a pump that is not trusted gets plain water at once") {
  FedSite site = lived();
  site.disobey();
  const auto more = site.copy();
  Bench added = more->benches[1];
  added.name = "shade";
  more->benches.push_back(added);
  more->pumps[0].benches.push_back("shade");
  site.restart(more);
  site.later(minutes(1));
  CHECK(site.bench_of("shade").cause == Cause::pump_untrusted);
}

TEST_CASE(
    "A pump under another name is on advice, watched from now on, and trusted when somebody says "
    "so") {
  FedSite site = lived();
  site.disobey();
  const auto renamed = site.copy();
  renamed->pumps[0].name = "new-line";
  site.restart(renamed);
  CHECK(site.gave(5, 50) == TakenDose::unknown);
  site.later(minutes(1));
  CHECK(site.bench_of("mist").cause == Cause::pump_untrusted);
  CHECK_FALSE(site.pump().armed);
  CHECK_FALSE(site.pump().trusted);
  CHECK(site.ask_pump(RequestKind::trust, "new-line").done);
  CHECK(site.bench_of("mist").strength_percent == 25);
  CHECK(site.pump().trusted);
  feeding::DoseReport r = site.report(5);
  r.pump = "new-line";
  r.time -= kDay;
  CHECK(site.dosed(r) == TakenDose::history);
  r.time = site.now;
  CHECK(site.dosed(r) == TakenDose::used);
  SECTION("and a bench without a pump is fed by hand") {
    const auto none = site.copy();
    none->pumps.clear();
    site.restart(none);
    site.days(1);
    CHECK(site.bench_of("mist").feeding == Feeding::reduced);
    CHECK(site.engine->pumps().empty());
  }
}

TEST_CASE("Pots that leave the settings take no harm") {
  FedSite site = lived();
  const auto bare = site.copy();
  for (Bench& bench : bare->benches) bench.pots = 0;
  const auto advised = site.notices(Cause::salts_up).size();
  site.restart(bare);
  site.days(20);
  site.gave(5, 0);
  CHECK(site.bench_of("long").watered == site.now);
  CHECK(site.bench_of("long").flush_l == 0);
  CHECK(std::isnan(site.bench_of("long").salts_ec));
  CHECK(site.notices(Cause::salts_up).size() == advised);
}
