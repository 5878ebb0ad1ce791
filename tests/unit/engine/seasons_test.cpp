// Whole seasons, and sites where the sun or the sensors behave unlike elsewhere.
#include <catch2/catch.hpp>

#include "synthetic_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using feeding::Cause;
using feeding::DecisionKind;
using feeding::Feeding;

namespace {

Instant at(std::string_view text) { return parse_rfc3339(text).value(); }

bool asked(const SyntheticSite& site, Cause cause) {
  const auto notices = site.told(DecisionKind::notice);
  return std::any_of(notices.begin(), notices.end(),
                     [=](const auto& d) { return d.cause == cause; });
}

/// From 24 °C down to 12.5 °C and in steps of 4 °C further, until the longest plain water ends
/// them.
SyntheticSite capped() {
  SyntheticSite site;
  site.settings->drops.longest_plain_water_days = 45;
  site.days_at(50, 24);
  for (const double c : {12.5, 8.5, 4.5}) site.days_at(16, c);
  while (site.count(DecisionKind::hold_ended) == 0) site.days_at(1, 4.5);
  return site;
}

}  // namespace

TEST_CASE(
    "From a drop to full feed again: 25 % for a week, then at most 25 points a week, in days long "
    "and warm enough") {
  SyntheticSite site(1, Group::cool, -33.9);
  site.now = at("2026-03-20T12:00:00Z");
  site.days_at(40, 19);
  site.days_at(60, 10.5);
  REQUIRE(site.count(DecisionKind::hold_ended) == 1);
  site.days_at(60, 10.5);
  CHECK(site.bench().feeding == Feeding::reduced);
  CHECK(site.bench().strength_percent >= 25);
  CHECK(site.bench().strength_percent <= 50);
  site.days_at(120, 16);
  CHECK(site.bench().feeding == Feeding::full);
  int before = 25;
  Instant raised = site.told(DecisionKind::hold_ended)[0].time;
  for (const auto& d : site.out.decisions) {
    if (d.time <= raised || d.kind != DecisionKind::feeding_changed) continue;
    CHECK(d.strength_percent - before <= 25);
    if (d.strength_percent > before) {
      CHECK(d.time - raised >= 7 * kDay);
      raised = d.time;
    }
    before = d.strength_percent;
  }
  CHECK(site.count(DecisionKind::hold_placed) == 1);
}

TEST_CASE("After the longest plain water a fall is let pass for 21 days, unless it is severe") {
  const auto fall_after = [](double landing_c) {
    SyntheticSite site = capped();
    site.days_at(6, 4.5);
    site.out.decisions.clear();
    site.days_at(8, landing_c);
    return site;
  };
  const SyntheticSite mild = fall_after(0);
  CHECK(mild.count(DecisionKind::hold_placed) == 0);
  const auto notices = mild.told(DecisionKind::notice);
  CHECK(std::any_of(notices.begin(), notices.end(), [](const auto& d) {
    return d.text().find("longest plain water just before") != std::string::npos;
  }));
  CHECK(fall_after(-6).count(DecisionKind::hold_placed) == 1);
}

TEST_CASE("Once the 21 days are over a fall is answered again") {
  SyntheticSite site = capped();
  site.days_at(30, 4.5);
  const auto before = site.count(DecisionKind::hold_placed);
  site.days_at(8, -1);
  CHECK(site.count(DecisionKind::hold_placed) == before + 1);
}

TEST_CASE("A bench's first year in cold nights asks six weeks into the long days") {
  SyntheticSite site;
  site.now = at("2026-12-20T12:00:00Z");
  site.days_at(140, 11.5);  // to early May, under the group's 13 °C
  CHECK(asked(site, Cause::cool_nights));
  CHECK(site.bench().feeding == Feeding::reduced);
  REQUIRE(site.ask(feeding::RequestKind::growth_started).done);
  CHECK(site.bench().questions.empty());
  site.days_at(22, 11.5);
  CHECK(site.bench().strength_percent == 100);
}

TEST_CASE("A grower's own hold is asked about each month and ends when told") {
  SyntheticSite site;
  site.days_at(30, 18);
  const Instant end = site.now + 75 * kDay;
  REQUIRE(site.ask(feeding::RequestKind::hold, [&](auto& r) { r.until = end; }).done);
  site.days(74);
  const auto notices = site.told(DecisionKind::notice);
  CHECK(std::count_if(notices.begin(), notices.end(), [](const auto& d) {
          return d.text().find("Do you still want it?") != std::string::npos;
        }) == 2);
  CHECK(site.bench().plain_water_days_in_year == 0);  // of detected holds only
  site.days(2);
  CHECK(site.told(DecisionKind::hold_ended)[0].time == end);
}

TEST_CASE("Polar nights and days count like others, by hourly readings too") {
  const double latitude = GENERATE(64.0, 65.7, 65.8, 66.2, 67.0, 69.6, 78.2, -70.0);
  const char* start = GENERATE("2026-03-01T00:15:00Z", "2026-03-01T00:45:00Z");
  SyntheticSite site(1, Group::cool, latitude);
  site.interval = hours(1);
  site.now = at(start);
  site.days_at(365, 14);
  const auto uncounted = std::count_if(site.out.nights.begin(), site.out.nights.end(),
                                       [](const NightRow& n) { return !n.counted; });
  INFO(latitude << ": " << uncounted << " of " << site.out.nights.size());
  CHECK(site.out.nights.size() >= 363);
  CHECK(uncounted <= 1);  // the first, which began before the readings
  CHECK(site.count(DecisionKind::hold_placed) == 0);
  const auto plain = site.told(DecisionKind::feeding_changed);
  CHECK(std::count_if(plain.begin(), plain.end(), [](const auto& d) {
          return d.feeding == Feeding::plain_water;
        }) == 1);  // before the first night
}

TEST_CASE("By the date line nights close as elsewhere") {
  const double longitude = GENERATE(179.5, -179.5, 180.0, -180.0);
  SyntheticSite site;
  site.settings->site.longitude_deg = longitude;
  site.days_at(50, 18);
  site.days_at(14, 11);
  CHECK(site.out.nights.size() >= 62);
  CHECK(site.count(DecisionKind::hold_placed) == 1);
  CHECK(site.count(DecisionKind::hold_confirmed) <= 1);
}

TEST_CASE("Two benches of one sensor: each has its own group, its own hold") {
  SyntheticSite site;
  Bench mist = site.settings->benches[0];
  mist.name = "mist";
  mist.group = Group::warm;
  site.settings->benches.push_back(mist);
  site.settings->pumps[0].benches.push_back("mist");
  site.days_at(50, 22);
  site.days_at(6, 16.5);  // under 18 + 1, not under 13 + 1
  CHECK_FALSE(site.engine->bench(0).hold);
  REQUIRE(site.engine->bench(1).hold);
  const PumpNow pump = site.engine->pumps()[0];
  CHECK(pump.feeding == Feeding::plain_water);  // the most careful of its benches
  CHECK(pump.strength_percent == 0);
}

TEST_CASE(
    "A sensor that speaks only of changes is silent a day after its first late word, however often "
    "the engine wakes") {
  SyntheticSite site;
  site.settings->sensors[0].reports = Reports::on_change;
  site.begin();
  const Instant begun = at("2026-07-01T06:00:00Z");
  site.engine->advance(begun, site.out);
  site.one_reading(0, begun - minutes(90), 18);
  auto restored = Engine::restore(site.settings, site.engine->snapshot());
  REQUIRE(restored);
  Outcome live, again;
  for (Instant t = begun; t <= begun + 2 * kDay; t += minutes(10)) site.engine->advance(t, live);
  restored->advance(begun + 2 * kDay, again);
  REQUIRE_FALSE(live.decisions.empty());
  REQUIRE(live.decisions.size() == again.decisions.size());
  for (std::size_t i = 0; i < live.decisions.size(); ++i)
    CHECK(to_json(live.decisions[i]) == to_json(again.decisions[i]));
  CHECK(live.decisions[0].cause == Cause::silent);
  CHECK(live.decisions[0].time == begun + hours(24) - minutes(90));
}

TEST_CASE(
    "Numbers that are not of this world are no trouble: times before 1970 and of the year 9999") {
  SyntheticSite site;
  site.days_at(20, 18);
  Outcome out;
  const auto take = [&](const char* time, Milli value) {
    return site.engine->take({SensorId(0), Quantity::temperature, at(time), value},
                             site.engine->now(), out);
  };
  CHECK(take("0001-01-01T00:00:00Z", 18'000) == Taken::history);
  CHECK(take("1969-12-31T23:59:59Z", 18'000) == Taken::history);
  CHECK(take("9999-12-31T23:59:59Z", 18'000) == Taken::future);
  CHECK(out.decisions.empty());
  site.days_at(5, 18);
  CHECK(site.bench().counted_nights >= 23);
}

TEST_CASE("A snapshot with any one bit turned, a byte more or a byte less is refused") {
  SyntheticSite site(2);
  site.days_at(20, 18);
  const std::string bytes = site.engine->snapshot();
  REQUIRE(Engine::restore(site.settings, bytes));
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    std::string damaged = bytes;
    damaged[i] = static_cast<char>(damaged[i] ^ (1 << (i % 8)));
    INFO(i);
    REQUIRE_FALSE(Engine::restore(site.settings, damaged));
  }
  for (std::size_t n = 0; n < bytes.size(); ++n)
    REQUIRE_FALSE(Engine::restore(site.settings, std::string_view(bytes).substr(0, n)));
  CHECK_FALSE(Engine::restore(site.settings, bytes + '\0'));
}
