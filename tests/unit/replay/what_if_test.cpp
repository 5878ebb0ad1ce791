#include "replay/what_if.h"

#include <algorithm>

#include "journaled_house.h"
#include "words/render.h"

using namespace plainwater;
using namespace plainwater::replay;
using namespace plainwater::testing;
using feeding::RequestKind;
using store::JournalKind;

namespace {

struct Answer {
  WhatIf found;
  std::vector<WhatIfLine> lines;
};

Answer ask(House& house, std::shared_ptr<const Settings> settings) {
  Answer answer;
  auto found = decide_what_if(house.folder.path / "a.db", std::move(settings),
                              [&](const WhatIfLine& line) { answer.lines.push_back(line); }, {});
  if (!found) FAIL(found.error().message());
  answer.found = std::move(*found);
  return answer;
}

std::shared_ptr<const Settings> replaced(const House& house, const std::string& what,
                                         const std::string& by) {
  std::string text = house.settings->text;
  const auto where = text.find(what);
  REQUIRE(where != std::string::npos);
  const auto loaded = load_settings_text(text.replace(where, what.size(), by), "new.yaml");
  for (const auto& problem : loaded.problems) FAIL(message(problem, "new.yaml"));
  return loaded.settings;
}

/// A mild night on the bench `long`, a cold evening, and a hold on it three days later.
void live_ten_days(House& house) {
  house.change(house.settings);
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  for (Instant t = at("2026-07-01T19:00:00Z"); t <= at("2026-07-02T05:00:00Z"); t += minutes(30))
    house.read(format_rfc3339(t).c_str(),
               static_cast<Milli>(18'000 + to_ms(t) / 1'800'000 % 7 * 100));
  house.read("2026-07-02T23:00:00Z", 7'000);
  house.read("2026-07-02T23:05:00Z", 6'900);
  house.take(JournalKind::tick, "2026-07-03T01:00:00Z", "");
  house.take(JournalKind::request, "2026-07-05T11:00:00Z", house.hold("1"));
  house.take(JournalKind::tick, "2026-07-11T11:00:00Z", "");
}

}  // namespace

TEST_CASE("the same settings would have decided the same") {
  House house;
  live_ten_days(house);
  const auto answer = ask(house, house.settings);
  CHECK(answer.lines.empty());
  CHECK(answer.found.less == 0);
  CHECK(answer.found.more == 0);
  CHECK(answer.found.same == static_cast<std::uint64_t>(house.ledger_rows()));
  CHECK(answer.found.notes.empty());
  const Fed then = answer.found.then.at("long"), now = answer.found.now.at("long");
  CHECK(then.holds_placed == 1);
  CHECK(then.plain_days == now.plain_days);
  CHECK(then.plain_days > 6);
  CHECK(then.plain_days + then.feeding_days == Approx(10.0 + 1.0 / 24));
}

TEST_CASE("a cool group would not have been chilled") {
  House house;
  live_ten_days(house);
  const auto answer =
      ask(house, replaced(house, "long: {group: intermediate", "long: {group: cool"));
  bool lost_chill = false;
  for (const auto& line : answer.lines) {
    INFO(words::in_english(line.said));
    if (line.recorded && line.bench == "long" &&
        words::in_english(line.said).find("below the chill floor") != std::string::npos)
      lost_chill = true;
    CHECK_FALSE((!line.recorded &&
                 words::in_english(line.said).find("below the chill floor") != std::string::npos));
  }
  CHECK(lost_chill);
  CHECK(answer.found.now.at("long").plain_days < answer.found.then.at("long").plain_days);
  CHECK(answer.found.now.at("long").holds_placed == 1);  // the grower's own hold is in both
  for (std::size_t i = 1; i < answer.lines.size(); ++i)
    CHECK(answer.lines[i - 1].time <= answer.lines[i].time);
}

TEST_CASE("what follows after time was set back is compared with what followed") {
  House house;
  live_ten_days(house);
  house.read("2026-07-11T23:00:00Z", 6'900);
  house.read("2026-07-11T23:05:00Z", 6'800);
  house.take(JournalKind::tick, "2026-07-11T23:30:00Z", "");
  house.take(JournalKind::clock, "2026-07-05T11:00:00Z", clock_body(6 * kDay + minutes(750)));
  house.take(JournalKind::request, "2026-07-06T11:00:00Z",
             outlet::to_json(request("2", RequestKind::hold, "cold-end")));
  house.take(JournalKind::tick, "2026-07-09T11:00:00Z", "");
  SECTION("by the same settings") {
    const auto answer = ask(house, house.settings);
    CHECK(answer.lines.empty());
    CHECK(answer.found.same == static_cast<std::uint64_t>(house.ledger_rows()));
    for (const auto& fed : {answer.found.then.at("long"), answer.found.now.at("long")})
      CHECK(fed.plain_days + fed.feeding_days == Approx(14.0 + 13.5 / 24));
    CHECK(answer.found.then.at("cold-end").holds_placed == 1);
  }
  SECTION("by others, without the last decision before it") {
    const auto answer =
        ask(house, replaced(house, "long: {group: intermediate", "long: {group: cool"));
    CHECK(answer.found.less > 0);
    for (const auto& line : answer.lines) {
      INFO(words::in_english(line.said));
      CHECK(line.bench == "long");
    }
  }
}

TEST_CASE("a removed bench, a new one, and the readings of a removed sensor") {
  House house;
  live_ten_days(house);
  std::string text = house.settings->text;
  for (const auto& [what, by] :
       {std::pair<std::string, std::string>{"  long-air: {}", "  door-air: {}"},
        {"  long: {group: intermediate, sensors: [long-air]}",
         "  door: {group: intermediate, sensors: [door-air]}"},
        {"benches: [long, cold-end]", "benches: [door, cold-end]"}}) {
    const auto where = text.find(what);
    REQUIRE(where != std::string::npos);
    text.replace(where, what.size(), by);
  }
  const auto loaded = load_settings_text(text, "new.yaml");
  REQUIRE(loaded.settings);
  const auto answer = ask(house, loaded.settings);
  CHECK(answer.found.benches_gone == std::set<std::string>{"long"});
  CHECK(answer.found.benches_new == std::set<std::string>{"door"});
  CHECK(answer.found.sensors_gone == std::map<std::string, std::uint64_t>{{"long-air", 23}});
  CHECK(answer.found.sensors_new.contains("door-air"));
  CHECK(answer.found.now.contains("door"));
  CHECK(answer.found.then.at("long").holds_placed == 1);
  CHECK_FALSE(answer.found.now.contains("long"));
}

TEST_CASE("after a retention cut both begin with the state at the cut") {
  House house;
  live_ten_days(house);
  house.snapshot();
  house.take(JournalKind::tick, "2026-07-20T11:00:00Z", "");
  house.tamper("UPDATE snapshots SET kept = 1");
  REQUIRE(house.store->retain(at("2026-07-20T12:00:00Z"), 1));
  const auto answer = ask(house, house.settings);
  REQUIRE(answer.found.notes.size() == 1);
  CHECK(words::in_english(answer.found.notes[0]).find("thinned") != std::string::npos);
  CHECK(answer.lines.empty());
  CHECK(answer.found.then.at("long").plain_days == Approx(9.0));
  CHECK(answer.found.now.at("long").plain_days == Approx(9.0));
}

TEST_CASE("a renamed bench and a renamed sensor would have decided the same, but for names") {
  House house;
  live_ten_days(house);
  const auto sensor =
      house.settings
          ->sensors[index(house.settings->benches[*house.settings->bench("long")].sensors.front())]
          .name;
  auto renamed = std::make_shared<Settings>(*house.settings);
  for (Bench& bench : renamed->benches)
    if (bench.name == "long") bench.name = "porch", bench.was = {"long"};
  std::sort(renamed->benches.begin(), renamed->benches.end(),
            [](const auto& a, const auto& b) { return a.name < b.name; });
  for (Pump& pump : renamed->pumps)
    std::replace(pump.benches.begin(), pump.benches.end(), std::string("long"),
                 std::string("porch"));
  for (Sensor& each : renamed->sensors)
    if (each.name == sensor) each.was = {sensor}, each.name += "-new";
  const auto answer = ask(house, renamed);
  for (const auto& line : answer.lines) {
    INFO(line.bench << ": " << words::in_english(line.said));
    CHECK(words::in_english(line.said).find(sensor) != std::string::npos);  // by its name
  }
  CHECK(answer.found.same > 20);
  CHECK(answer.found.benches_gone.empty());
  CHECK(answer.found.benches_new.empty());
  CHECK(answer.found.sensors_gone.empty());
}
