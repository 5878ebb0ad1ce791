// Nothing that keeps feed from a bench, and nothing that people are asked, is lost by an edit of
// the settings: not at the edit, not when it is undone.
#include "fed_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using Catch::Matchers::Contains;
using feeding::Cause;
using feeding::Feeding;
using feeding::RequestKind;

namespace {

using Change = std::function<void(Settings&)>;
struct Edit {
  const char* what;
  Change change;
  const char* long_now = "long";  ///< what goes on for each, null: left the settings
  const char* mist_now = "mist";
  bool same_pump = true;  ///< an armed pump stays armed
};

void take_out(Settings& s, const char* bench) {
  std::erase_if(s.benches, [&](const Bench& b) { return b.name == bench; });
  for (Pump& pump : s.pumps) std::erase(pump.benches, bench);
}

void rename(Settings& s, const char* from, const char* to) {
  Bench& bench = s.benches[*s.bench(from)];
  bench.was = {from};
  bench.name = to;
  std::ranges::sort(s.benches, {}, &Bench::name);
  for (Pump& pump : s.pumps)
    for (std::string& name : pump.benches)
      if (name == from) name = to;
}

std::vector<Edit> edits() {
  return {
      {"nothing", [](Settings&) {}},
      {"another group",
       [](Settings& s) {
         for (Bench& b : s.benches) b.group = Group::cool;
       }},
      {"a lower chill floor",
       [](Settings& s) {
         for (Bench& b : s.benches) b.chill_floor_c = 2;
       }},
      {"exempt by the settings",
       [](Settings& s) {
         for (Bench& b : s.benches) b.exempt = true;
       }},
      {"falls and moves not watched",
       [](Settings& s) {
         s.drops.watch = false;
         s.moves.watch = false;
       }},
      {"shorter holds by detection",
       [](Settings& s) {
         s.drops.shortest_days = 7;
         s.drops.longest_days = 8;
         s.drops.longest_plain_water_days = 9;
       }},
      {"other strengths", [](Settings& s) { s.feeding.weakest_percent = 50; }},
      {"sensors exchanged",
       [](Settings& s) { std::swap(s.benches[0].sensors, s.benches[1].sensors); }},
      {"no sensors",
       [](Settings& s) {
         for (Bench& b : s.benches) b.sensors.clear();
       }},
      {"other pots",
       [](Settings& s) {
         for (Bench& b : s.benches) b.pots = 0;
       }},
      {"another water", [](Settings& s) { s.pumps[0].water = "rain"; }, "long", "mist", false},
      {"another recipe", [](Settings& s) { s.recipes[0].target_ppm_n = 60; }, "long", "mist",
       false},
      {"no pump", [](Settings& s) { s.pumps.clear(); }, "long", "mist", false},
      {"a pump for each",
       [](Settings& s) {
         Pump other = s.pumps[0];
         s.pumps[0].benches = {"long"};
         other.name = "second";
         other.benches = {"mist"};
         s.pumps.push_back(other);
       },
       "long", "mist", false},
      {"a pump renamed",
       [](Settings& s) {
         s.pumps[0].name = "south";
         s.pumps[0].was = {"line"};
       }},
      {"both renamed",
       [](Settings& s) {
         rename(s, "long", "porch");
         rename(s, "mist", "attic");
       },
       "porch", "attic"},
      {"both renamed, and sorted otherwise",
       [](Settings& s) {
         rename(s, "long", "zz");
         rename(s, "mist", "aa");
       },
       "zz", "aa"},
      {"one taken out", [](Settings& s) { take_out(s, "long"); }, nullptr, "mist", false},
      {"the other taken out", [](Settings& s) { take_out(s, "mist"); }, "long", nullptr, false},
      {"joined",
       [](Settings& s) {
         take_out(s, "long");
         s.benches[0].was = {"long"};
       },
       "mist", "mist", false},
      {"split",
       [](Settings& s) {
         rename(s, "long", "ledge");
         Bench half = s.benches[*s.bench("ledge")];
         half.name = "shelf";
         s.benches.push_back(half);
         s.pumps[0].benches.push_back("shelf");
       },
       "shelf", "mist", false},
  };
}

/// Three weeks in. "long": a hold of 40 days, one of 30 kept beside it, one announced for day 60,
/// a question open. "mist": exempt until day 50, chilled, one announced for day 70.
FedSite busy() {
  FedSite site;
  site.days(20);
  site.arm();
  const auto until = [&](int days) {
    return [&site, days](auto& r) { r.until = site.now + days * kDay; };
  };
  REQUIRE(site.ask_bench(RequestKind::hold, "long", until(40)).done);
  site.days(31);  // the monthly question
  REQUIRE(site.ask_bench(RequestKind::extend, "long", until(40)).done);
  REQUIRE(site.ask_bench(RequestKind::hold, "long", until(30)).done);
  REQUIRE(site.ask_bench(RequestKind::exempt, "mist", until(50)).done);
  for (const auto& [bench, from] : {std::pair("long", 60), std::pair("mist", 70)})
    REQUIRE(site.ask_bench(RequestKind::hold, bench,
                           [&, days = from](auto& r) {
                             r.from = site.now + days * kDay;
                             r.until = site.now + (days + 5) * kDay;
                           })
                .done);
  site.air = [](Instant) { return 11.0; };
  site.days(0.4);
  site.air = [](Instant) { return 20.0; };
  REQUIRE(site.bench_of("mist").chilled_until != kNever);
  REQUIRE(site.bench_of("long").chilled_until == kNever);
  REQUIRE_FALSE(site.bench_of("long").questions.empty());
  return site;
}

/// What must be there after an edit, by what was there before.
struct Kept {
  Instant hold_end, chilled_until;
  std::size_t questions;
  explicit Kept(FedSite& site)
      : hold_end(site.bench_of("long").hold->planned_end),
        chilled_until(site.bench_of("mist").chilled_until),
        questions(site.bench_of("long").questions.size()) {}

  void check_long(const BenchNow& now) const {
    REQUIRE(now.hold);
    CHECK(now.hold->planned_end >= hold_end);
    CHECK(now.feeding == Feeding::plain_water);
    CHECK(now.questions.size() >= questions);
    const std::string why = words::in_english(now.because);
    CHECK_THAT(why, Contains("If that ends sooner, plain water goes on until"));
    CHECK_THAT(why, Contains("Plain water is announced from"));
  }
  void check_mist(const BenchNow& now) const {
    CHECK(now.chilled_until >= chilled_until);
    CHECK(now.feeding == Feeding::plain_water);
    CHECK_THAT(words::in_english(now.because), Contains("Plain water is announced from"));
  }
};

}  // namespace

TEST_CASE("No hold, chill, announcement or question is lost by an edit, nor when it is undone") {
  for (const Edit& edit : edits()) {
    CAPTURE(edit.what);
    FedSite site = busy();
    const auto whole = site.copy();
    const Kept kept(site);
    const auto edited = site.copy();
    edit.change(*edited);
    site.restart(edited);
    site.later(minutes(1));
    if (edit.long_now != nullptr) kept.check_long(site.bench_of(edit.long_now));
    if (edit.mist_now != nullptr) kept.check_mist(site.bench_of(edit.mist_now));
    if (!site.settings->pumps.empty()) CHECK(site.pump().armed == edit.same_pump);
    // Undone: former names are former names again.
    const auto again = std::make_shared<Settings>(*whole);
    for (Bench& bench : again->benches) {
      const char* now = bench.name == "long" ? edit.long_now : edit.mist_now;
      if (now != nullptr && bench.name != now && !again->bench(now)) bench.was = {now};
    }
    site.restart(again);
    site.later(minutes(1));
    const bool stays_joined = edit.long_now != nullptr && std::string(edit.long_now) == "mist";
    kept.check_mist(site.bench_of("mist"));
    if (!stays_joined) kept.check_long(site.bench_of("long"));
  }
}

TEST_CASE("An exemption is kept by an edit, and ends on its day") {
  FedSite site = busy();
  const auto renamed = site.copy();
  rename(*renamed, "mist", "attic");
  site.restart(renamed);
  site.days(51);
  const auto told = site.notices(Cause::exempt);
  REQUIRE_FALSE(told.empty());
  CHECK(told.back().bench == "attic");
  CHECK(told.back().text() ==
        "The exemption has ended: sharp drops are answered with a hold again.");
}

TEST_CASE("A pump that was taken out of the settings comes back as little trusted as it went") {
  FedSite site;
  site.line().daily_l = 100;
  site.days(20);
  site.arm();
  site.later(hours(1));
  site.gave(5, 25);
  REQUIRE(
      site.ask_bench(RequestKind::hold, "long", [&](auto& r) { r.until = site.now + 40 * kDay; })
          .done);
  site.days(3);
  site.disobey();
  const auto whole = site.copy();
  const auto without = site.copy();
  without->pumps.clear();
  site.restart(without);
  site.days(2);
  const bool renamed = GENERATE(false, true);
  if (renamed) {
    whole->pumps[0].name = "south";
    whole->pumps[0].was = {"line"};
  }
  site.restart(whole);
  site.later(minutes(1));
  CHECK_FALSE(site.pump().trusted);
  CHECK_FALSE(site.pump().armed);
  CHECK(site.bench_of("long").cause == Cause::pump_untrusted);
  CHECK(site.ask_pump(RequestKind::arm, "line").problem == "pump-untrusted");
  REQUIRE(site.ask_pump(RequestKind::trust, "line").done);
  CHECK(site.pump().trusted);
}

TEST_CASE("A pump that was taken out of the settings still waits for the bench that it lost") {
  FedSite site;
  site.days(20);
  site.arm();
  const auto whole = site.copy();
  const auto lost = site.copy();
  take_out(*lost, "long");
  site.restart(lost);
  site.later(minutes(1));
  REQUIRE(site.ask_pump(RequestKind::arm).problem == "bench-gone");
  const auto without = std::make_shared<Settings>(*lost);
  without->pumps.clear();
  site.restart(without);
  site.later(minutes(1));
  SECTION("until it is retired") {
    site.restart(lost);
    site.later(minutes(1));
    CHECK(site.ask_pump(RequestKind::arm).problem == "bench-gone");
    REQUIRE(site.ask_bench(RequestKind::retire, "long").done);
    CHECK(site.ask_pump(RequestKind::arm).done);
  }
  SECTION("also when that is retired meanwhile") {
    REQUIRE(site.ask_bench(RequestKind::retire, "long").done);
    site.restart(lost);
    site.later(minutes(1));
    CHECK(site.ask_pump(RequestKind::arm).done);
  }
}

TEST_CASE("Reports and requests under former names reach the pump and the bench that go on") {
  FedSite site;
  site.days(20);
  const auto renamed = site.copy();
  rename(*renamed, "long", "porch");
  renamed->pumps[0].name = "south";
  renamed->pumps[0].was = {"line"};
  site.restart(renamed);
  site.later(minutes(1));
  CHECK(site.ask_pump(RequestKind::arm, "line").done);
  feeding::DoseReport report = site.report(5);  // of pump "line"
  report.bench = "long";
  report.strength_percent = 0;
  CHECK(site.dosed(report) == TakenDose::used);
  CHECK(site.bench_of("porch").watered == report.time);
  CHECK(site.bench_of("mist").watered == kNever);
  CHECK(site.dosed(report) == TakenDose::repeated);
}

TEST_CASE("Days on which a bench lost by a shared pump go on under its new name") {
  FedSite site;
  site.days(20);
  REQUIRE(
      site.ask_bench(RequestKind::hold, "long", [&](auto& r) { r.until = site.now + 90 * kDay; })
          .done);
  site.days(10);
  const int behind = site.pump().behind.at("mist");
  REQUIRE(behind >= 9);
  const auto renamed = site.copy();
  rename(*renamed, "mist", "attic");
  site.restart(renamed);
  site.later(minutes(1));
  CHECK(site.pump().behind.at("attic") == behind);
  CHECK_FALSE(site.pump().behind.contains("mist"));
}

TEST_CASE("A move that was not judged yet keeps its hold when two benches are joined") {
  FedSite site;
  for (Bench& bench : site.settings->benches) bench.moves = Moves::declared;
  site.settings->benches[0].place = site.settings->benches[1].place = Position::indoors;
  site.days(25);
  REQUIRE(
      site.ask_bench(RequestKind::move, "mist", [](auto& r) { r.to = Position::outdoors; }).done);
  REQUIRE(site.bench_of("mist").hold);
  REQUIRE(site.bench_of("mist").hold->provisional);
  const auto end = site.bench_of("mist").hold->planned_end;
  const auto joined = site.copy();
  take_out(*joined, "mist");
  joined->benches[0].was = {"mist"};
  site.restart(joined);
  site.later(minutes(1));
  REQUIRE(site.bench_of("long").hold);
  CHECK(site.bench_of("long").hold->planned_end == end);
  site.days(12);  // the nights of "long" never changed, and say nothing about "mist"
  REQUIRE(site.bench_of("long").hold);
  CHECK(site.bench_of("long").hold->planned_end == end);
}
