// Benches, sensors and pumps that are called otherwise, split, joined or gone when the settings
// change: no hold, chill or question ends by an edit, and no pump feeds others unseen.
#include "fed_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using Catch::Matchers::Contains;
using feeding::Cause;
using feeding::Feeding;
using feeding::RequestKind;

namespace {

/// Three weeks in: "mist" is fed, "long" is held until the fortieth day, the pump is armed.
FedSite held() {
  FedSite site;
  site.days(20);
  site.arm();
  REQUIRE(
      site.ask_bench(RequestKind::hold, "long", [&](auto& r) { r.until = site.now + 40 * kDay; })
          .done);
  REQUIRE(site.ask_bench(RequestKind::hold, "mist",
                         [&](auto& r) {
                           r.from = site.now + 60 * kDay;
                           r.until = site.now + 70 * kDay;
                         })
              .done);
  return site;
}

/// The settings with "long" under another name, "porch", and what the pump feeds then.
std::shared_ptr<Settings> porch(const Settings& before, bool says_so) {
  auto settings = std::make_shared<Settings>(before);
  Bench bench = settings->benches[0];
  bench.name = "porch";
  if (says_so) bench.was = {"long"};
  settings->benches = {settings->benches[1], bench};
  settings->pumps[0].benches = {"mist", "porch"};
  return settings;
}

feeding::Decision only(const std::vector<feeding::Decision>& all) {
  REQUIRE(all.size() == 1);
  return all[0];
}

}  // namespace

TEST_CASE("A renamed bench keeps its hold, and its pump stays armed") {
  FedSite site = held();
  const auto before = site.bench_of("long");
  site.restart(porch(*site.settings, true));
  site.later(minutes(1));
  const auto now = site.bench_of("porch");
  REQUIRE(now.hold);
  CHECK(now.hold->id == before.hold->id);
  CHECK(now.hold->planned_end == before.hold->planned_end);
  CHECK(now.counted_nights == before.counted_nights);
  CHECK(now.acclimated_c == before.acclimated_c);
  CHECK(site.pump().armed);
  CHECK(site.notices(Cause::benches_changed).empty());
  CHECK(site.engine->gone().empty());
  const auto told = only(site.notices(Cause::renamed));
  CHECK(told.bench == "porch");
  CHECK(told.text() ==
        "Bench porch goes on for long, with its hold, its questions and its nights.");
  CHECK_THAT(told.evidence.json(), Contains("\"was\":\"long\""));
  SECTION("told once, also when it stops before it was told") {
    site.restart();
    site.days(1);
    CHECK(site.notices(Cause::renamed).size() == 1);
    FedSite stopped = held();
    stopped.restart(porch(*stopped.settings, true));
    stopped.restart();
    stopped.later(minutes(1));
    CHECK(stopped.notices(Cause::renamed).size() == 1);
  }
  SECTION("and the word of its former name changes nothing later") {
    site.days(42);
    CHECK_FALSE(site.bench_of("porch").hold);
  }
}

TEST_CASE("A bench that left the settings is kept until somebody says what became of it") {
  FedSite site = held();
  const auto whole = site.copy();
  const auto end = site.bench_of("long").hold->planned_end;
  site.restart(porch(*whole, false));
  CHECK_FALSE(site.pump().armed);  // in the first orders, before anything else is heard
  site.later(minutes(1));
  CHECK(site.engine->gone() == std::vector<std::string>{"long"});
  CHECK_FALSE(site.bench_of("porch").hold);
  CHECK(site.bench_of("porch").feeding == Feeding::plain_water);  // nothing is known of it
  const auto told = only(site.notices(Cause::bench_gone));
  CHECK(told.bench == "long");
  CHECK_THAT(told.text(), Contains("`was: long`") && Contains("`plainwater retire long`"));
  CHECK_FALSE(site.pump().armed);
  CHECK_THAT(only(site.notices(Cause::benches_changed)).evidence.json(),
             Contains("\"armed_for\":\"long, mist\",\"now\":\"mist, porch\""));
  CHECK(site.ask_pump(RequestKind::arm).problem == "bench-gone");
  site.restart();
  site.days(2);
  CHECK(site.engine->gone() == std::vector<std::string>{"long"});
  CHECK(site.notices(Cause::bench_gone).size() == 1);
  SECTION("it comes back") {
    site.restart(whole);
    site.later(minutes(1));
    REQUIRE(site.bench_of("long").hold);
    CHECK(site.bench_of("long").hold->planned_end == end);
    CHECK(site.engine->gone().size() == 1);  // now it is porch
  }
  SECTION("another goes on for it") {
    site.restart(porch(*whole, true));
    site.later(minutes(1));
    REQUIRE(site.bench_of("porch").hold);
    CHECK(site.bench_of("porch").hold->planned_end == end);
    CHECK(site.engine->gone().empty());
    CHECK(site.ask_pump(RequestKind::arm).done);
  }
  SECTION("it is retired") {
    CHECK(site.ask_bench(RequestKind::retire, "mist").problem == "bench-in-settings");
    CHECK(site.ask_bench(RequestKind::retire, "lung").problem == "unknown-bench");
    REQUIRE(site.ask_bench(RequestKind::retire, "long").done);
    CHECK(only(site.notices(Cause::bench_retired)).bench == "long");
    CHECK(site.engine->gone().empty());
    CHECK(site.ask_bench(RequestKind::retire, "long").problem == "unknown-bench");
    CHECK(site.ask_pump(RequestKind::arm).done);
    site.restart();
    site.days(1);
    CHECK(site.engine->gone().empty());
    CHECK(site.pump().armed);
  }
  SECTION("the settings retire it") {
    const auto retired = site.copy();
    retired->site.retired = {"long", "never-heard-of"};
    site.restart(retired);
    site.later(minutes(1));
    const auto said = only(site.notices(Cause::bench_retired));
    CHECK(said.bench == "long");
    CHECK_THAT(said.text(), Contains("for good, as `site.retired` says"));
    CHECK(site.engine->gone().empty());
    CHECK(site.ask_pump(RequestKind::arm).done);
    site.restart();  // and again, with the key still there
    site.days(1);
    CHECK(site.notices(Cause::bench_retired).size() == 1);
    CHECK(site.pump().armed);
    site.restart(whole);  // it is another bench then
    site.later(minutes(1));
    CHECK_FALSE(site.bench_of("long").hold);
  }
  SECTION("time goes back meanwhile") {
    site.engine->set_back(10 * kDay, site.now - 10 * kDay, site.out);
    site.now -= 10 * kDay;
    site.restart(porch(*whole, true));
    site.later(minutes(1));
    REQUIRE(site.bench_of("porch").hold);
    CHECK(site.bench_of("porch").hold->planned_end == end - 10 * kDay);
  }
}

TEST_CASE(
    "A bench that the settings retire as it leaves them is told as retired, and nobody is asked") {
  FedSite site = held();
  const auto retired = porch(*site.settings, false);
  retired->site.retired = {"long"};
  site.restart(retired);
  site.later(minutes(1));
  CHECK(only(site.notices(Cause::bench_retired)).bench == "long");
  CHECK(site.notices(Cause::bench_gone).empty());
  CHECK(site.engine->gone().empty());
  CHECK_FALSE(site.pump().armed);  // it feeds others now
  CHECK(site.ask_pump(RequestKind::arm).done);
}

TEST_CASE("Both halves of a split bench take over its hold, and their pump goes on advice") {
  FedSite site = held();
  const auto end = site.bench_of("long").hold->planned_end;
  const auto split = porch(*site.settings, true);
  Bench half = split->benches[1];
  half.name = "ledge";
  split->benches.insert(split->benches.begin(), half);
  split->pumps[0].benches = {"ledge", "mist", "porch"};
  site.restart(split);
  site.later(minutes(1));
  for (const char* bench : {"ledge", "porch"}) {
    INFO(bench);
    REQUIRE(site.bench_of(bench).hold);
    CHECK(site.bench_of(bench).hold->planned_end == end);
  }
  CHECK_FALSE(site.pump().armed);
  CHECK(site.ask_pump(RequestKind::arm).done);
  // From now on each is a bench of its own.
  REQUIRE(site.ask_bench(RequestKind::release, "ledge").done);
  CHECK_FALSE(site.bench_of("ledge").hold);
  CHECK(site.bench_of("porch").hold);
}

TEST_CASE("A bench that joins two gets every hold, chill and announcement of either") {
  FedSite site = held();
  const auto end = site.bench_of("long").hold->planned_end;
  const bool long_first = GENERATE(true, false);
  const auto joined = site.copy();
  Bench both = joined->benches[long_first ? 1 : 0];
  both.name = "both";
  both.was = {"long", "mist"};
  joined->benches = {both};
  joined->pumps[0].benches = {"both"};
  site.restart(joined);
  site.later(minutes(1));
  const auto now = site.bench_of("both");
  REQUIRE(now.hold);
  CHECK(now.hold->planned_end == end);
  CHECK(now.feeding == Feeding::plain_water);
  CHECK_FALSE(site.pump().armed);
  CHECK(site.notices(Cause::renamed).size() == 2);
  site.days(45);
  CHECK_FALSE(site.bench_of("both").hold);
  site.days(17);  // what was announced for mist
  REQUIRE(site.bench_of("both").hold);
  CHECK(site.bench_of("both").hold->cause == Cause::announced);
}

TEST_CASE("A pump and a sensor go on under other names") {
  FedSite site = held();
  const auto renamed = site.copy();
  renamed->pumps[0].name = "south";
  renamed->pumps[0].was = {"line"};
  const std::string former = renamed->sensors[0].name;
  renamed->sensors[0].name = "a-new-sensor";  // still the first by name
  renamed->sensors[0].was = {former};
  const auto before = site.engine->sensors();
  site.restart(renamed);
  CHECK(site.pump().name == "south");
  CHECK(site.pump().armed);
  CHECK(site.engine->sensors()[0].last == before[0].last);
  CHECK(site.engine->sensors()[1].last == before[1].last);
}

TEST_CASE("A bench that comes back after weeks gets plain water until its nights are known again") {
  FedSite site;
  site.days(30);
  REQUIRE(site.bench_of("mist").strength_percent > 0);
  const auto whole = site.copy();
  const auto without = site.copy();
  without->benches.pop_back();
  without->pumps[0].benches = {"long"};
  site.restart(without);
  site.days(20);
  CHECK(site.engine->gone() == std::vector<std::string>{"mist"});
  site.restart(whole);
  site.later(minutes(1));
  CHECK(site.bench_of("mist").cause == Cause::not_heard);
  CHECK(site.bench_of("mist").strength_percent == 0);
  site.days(2);
  CHECK(site.bench_of("mist").strength_percent > 0);
  CHECK(site.bench_of("mist").counted_nights > 28);
}

TEST_CASE("A request under a former name reaches the bench that goes on, unless it was split") {
  FedSite site = held();
  site.restart(porch(*site.settings, true));
  CHECK(site.ask_bench(RequestKind::release, "long").done);
  CHECK_FALSE(site.bench_of("porch").hold);
  const auto split = site.copy();
  Bench half = split->benches[1];
  half.name = "ledge";
  split->benches.insert(split->benches.begin(), half);
  split->pumps[0].benches = {"ledge", "mist", "porch"};
  site.restart(split);
  CHECK(site.ask_bench(RequestKind::hold, "long").problem == "unknown-bench");
}

TEST_CASE("Names mistyped before anything was known of a bench leave nothing behind") {
  FedSite site;
  const auto right = site.copy();
  Bench mistyped = site.settings->benches[0];
  mistyped.name = "lomg";
  site.settings->benches[0] = mistyped;
  site.settings->pumps[0].benches = {"lomg", "mist"};
  site.engine = std::make_unique<Engine>(site.settings);
  site.restart(right);
  site.days(2);
  CHECK(site.engine->gone().empty());
  CHECK(site.notices(Cause::bench_gone).empty());
}
