// Which decisions are told, and the words of what lasts.
#include <algorithm>
#include <fstream>
#include <iterator>
#include <set>

#include "feeding/phrases.h"
#include "told_house.h"

using namespace plainwater;
using namespace plainwater::notices;
using Catch::Contains;
using feeding::Cause;
using feeding::Decision;
using feeding::DecisionKind;

namespace {

Decision decision(DecisionKind kind, Cause cause, const char* bench = "long") {
  Decision d;
  d.time = at_time("2026-11-26T06:00:00Z");
  d.bench = bench;
  d.kind = kind;
  d.cause = cause;
  d.said = words::as_it_is("It was decided.");
  return d;
}

Matter only(const Decision& d) {
  const auto matters = told_by(std::vector{d});
  REQUIRE(matters.size() == 1);
  return matters[0];
}

std::vector<Matter> of(
    const engine::BenchNow& bench, Instant now = at_time("2026-11-26T06:00:00Z"),
    const IsOpen& open = [](std::string_view) { return false; }) {
  return lasting(now, {bench}, {}, {}, {}, *house_with(), open);
}

}  // namespace

TEST_CASE("harm that is being done is urgent") {
  for (const Cause cause :
       {Cause::fed_in_plain_water, Cause::over_strength, Cause::daily_cap, Cause::pump_untrusted})
    CHECK(only(decision(DecisionKind::notice, cause)).urgency == Urgency::urgent);
  CHECK(only(decision(DecisionKind::feeding_changed, Cause::chill)).urgency == Urgency::urgent);
  auto outdoors = decision(DecisionKind::feeding_changed, Cause::chill);
  outdoors.evidence.text("place", "outdoors");
  CHECK(only(outdoors).urgency == Urgency::soon);
  CHECK(told_by(std::vector{decision(DecisionKind::notice, Cause::dip)}).empty());
  auto against = decision(DecisionKind::notice, Cause::fed_against_advice);
  CHECK(only(against).urgency == Urgency::soon);
  against.feeding = feeding::Feeding::plain_water;
  CHECK(only(against).urgency == Urgency::urgent);
}

TEST_CASE("a hold is told with what to do about it") {
  const auto placed = only(decision(DecisionKind::hold_placed, Cause::sharp_drop));
  CHECK(placed.kind == "hold-placed");
  CHECK(placed.urgency == Urgency::soon);
  CHECK(placed.id() == "hold-placed/long");
  CHECK(placed.text() ==
        "It was decided. Go on watering; if you know better: plainwater release long.");
  CHECK(only(decision(DecisionKind::hold_placed, Cause::grower)).urgency ==
        Urgency::info);  // who asked has had the answer
  for (const auto kind : {DecisionKind::hold_confirmed, DecisionKind::hold_extended,
                          DecisionKind::hold_withdrawn, DecisionKind::hold_ended})
    CHECK(only(decision(kind, Cause::sharp_drop)).urgency == Urgency::info);
}

TEST_CASE("one thing is told once") {
  const std::vector both{decision(DecisionKind::hold_ended, Cause::sharp_drop),
                         decision(DecisionKind::feeding_changed, Cause::after_hold)};
  REQUIRE(told_by(both).size() == 1);
  CHECK(told_by(both)[0].kind == "hold-ended");
  CHECK(told_by(std::vector{both[0],
                            decision(DecisionKind::feeding_changed, Cause::dull_season, "mist")})
            .size() == 2);
  // Each bench of a pump that is not trusted gets plain water; the pump itself is told of.
  CHECK(
      told_by(std::vector{decision(DecisionKind::feeding_changed, Cause::pump_untrusted)}).empty());
  CHECK(told_by(std::vector{decision(DecisionKind::sensor_trusted, Cause::good_values)})
            .empty());  // told as over
}

TEST_CASE("a matter names its pump and its sensor") {
  auto d = decision(DecisionKind::notice, Cause::over_strength);
  d.evidence.text("pump", "li\"ne");
  CHECK(only(d).id() == "over-strength/li\"ne");
  auto silent = decision(DecisionKind::sensor_doubted, Cause::silent);
  silent.evidence.text("sensor", "long-air");
  silent.since = at_time("2026-11-26T05:00:00Z");
  CHECK(only(silent).id() == "sensor-silent/long-air");
  CHECK(only(silent).since == *silent.since);
}

TEST_CASE("what lasts is told with what was done and what to do") {
  engine::BenchNow bench;
  bench.name = "long";
  CHECK(of(bench).empty());
  bench.questions = {{"cap", words::as_it_is("63 days are the most. Please decide.")}};
  REQUIRE(of(bench).size() == 1);
  CHECK(of(bench)[0].id() == "please-decide/long/cap");
  CHECK_THAT(of(bench)[0].text(), Contains("plainwater acknowledge long"));
  bench.questions.clear();
  bench.chilled_until = at_time("2026-11-29T06:00:00Z");
  bench.cause = Cause::pump_untrusted;  // comes first among the causes, and hides no chill
  CHECK(
      of(bench)[0].text() ==
      "Chilled below its floor: plain water until 29 November at least. Please check the heating.");
  CHECK(of(bench)[0].urgency == Urgency::urgent);  // a place that is unknown is under a roof
  bench.chilled_outdoors = true;
  CHECK(of(bench)[0].urgency == Urgency::soon);
  CHECK_THAT(of(bench)[0].text(), !Contains("heating") && Contains("The bench was outdoors"));
  bench.hold.emplace();
  CHECK_THAT(of(bench)[0].text(), Contains("plain water is in force already"));
}

TEST_CASE("a bench is dry for as long as nobody reports a watering") {
  const Instant now = at_time("2026-11-26T06:00:00Z");
  engine::BenchNow bench;
  bench.name = "long";  // watched for 3 days
  bench.watered = now - hours(71);
  CHECK(of(bench, now).empty());
  bench.watered = now - hours(72);
  REQUIRE(of(bench, now).size() == 1);
  CHECK(of(bench, now)[0].id() == "no-watering/long");
  // One that was never watered: the days begin anew once they are told.
  bench.watered = kNever;
  bench.dry_since = now - hours(1);
  CHECK(of(bench, now).empty());
  CHECK(of(bench, now, [](std::string_view id) { return id == "no-watering/long"; }).size() == 1);
}

TEST_CASE("the decision lends what lasts its figures") {
  Watch watch(house_with());
  auto d = decision(DecisionKind::feeding_changed, Cause::chill, "mist");
  d.evidence.number("air_c", 8.4, 1);
  d.said = feeding::phrases::chilled(8.4, 13, at_time("2026-11-29T06:00:00Z"),
                                     at_time("2026-11-28T06:00:00Z"), false, false);
  watch.desk.take(told_by(std::vector{d}), at(watch.now));
  watch.lasting = {lasting_matter("chill", "mist")};
  watch.look();
  REQUIRE(watch.heard.size() == 1);
  CHECK(watch.heard[0].message.line == "mist: " + d.text());
  const auto json = boost::json::parse(watch.heard[0].message.json).as_object();
  CHECK(json.at("since").as_string() == "2026-11-26T06:00:00Z");
  CHECK(json.at("evidence").as_object().contains("air_c"));
  CHECK(json.at("decision").as_object().at("cause").as_string() == "chill");
}

TEST_CASE("the service's own troubles, the worse of two only") {
  CHECK(lasting(HouseNow{}).empty());
  HouseNow house;
  house.store_usable = false;
  house.store_slow = true;
  house.store = "the disk is full";
  house.clock_plausible = house.clock_settled = false;
  house.backlog = true;
  const auto matters = lasting(house);
  REQUIRE(matters.size() == 3);
  CHECK(matters[0].kind == "store-unhealthy");
  CHECK_THAT(matters[0].text(), Contains("the disk is full"));
  CHECK_THAT(matters[1].text(), Contains("cannot be right"));
}

TEST_CASE("a message leads to the page that shows it") {
  Watch watch(
      house_with("{quiet: \"\", digest: \"\"}", "board: {address: \"https://house.example/\"}\n"));
  watch.lasting = {lasting_matter("blind", "long"), lasting_matter("pump-silent")};
  watch.look();
  REQUIRE(watch.heard.size() == 2);
  const auto bench = boost::json::parse(watch.heard[0].message.json).as_object();
  CHECK(bench.at("page").as_string() == "/bench/long");
  CHECK(bench.at("link").as_string() == "https://house.example/bench/long");
  CHECK(bench.at("acknowledge").as_bool());
  Watch without(house_with());
  without.lasting = {lasting_matter("blind", "long")};
  without.look();
  CHECK(boost::json::parse(without.heard[0].message.json).as_object().at("link").is_null());
}

TEST_CASE("the table of notices has every kind with its urgency, and no other") {
  std::ifstream file(PLAINWATER_SOURCE "/config/README.md");
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  std::set<std::string> missing;
  for (const Kind& kind : kinds())
    if (text.find("\n| `" + std::string(kind.name) + "` | " + name_of(kind.urgency)) ==
        std::string::npos)
      missing.insert(kind.name);
  CHECK(missing == std::set<std::string>{});
}
