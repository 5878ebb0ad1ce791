// Sharp drops through the whole engine: from readings to feed.
#include <catch2/catch.hpp>

#include "synthetic_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using feeding::Cause;
using feeding::DecisionKind;
using feeding::Feeding;

TEST_CASE("A lasting fall is held, confirmed, ended, and feed comes back weakly") {
  SyntheticSite site;
  site.days_at(50, 18);
  REQUIRE(site.bench().feeding == Feeding::full);
  const Instant fall = site.now;
  site.days_at(14, 11.8);
  REQUIRE(site.count(DecisionKind::hold_placed) == 1);
  const auto placed = site.told(DecisionKind::hold_placed)[0];
  CHECK(placed.time - fall >= 2 * kDay);
  CHECK(placed.time - fall <= 5 * kDay);
  CHECK(placed.feeding == Feeding::plain_water);
  CHECK(placed.strength_percent == 0);
  REQUIRE(site.count(DecisionKind::hold_confirmed) == 1);
  const auto confirmed = site.told(DecisionKind::hold_confirmed)[0];
  CHECK(days_of(confirmed.time - placed.time) == Approx(10).margin(0.2));
  CHECK(site.bench().feeding == Feeding::plain_water);
  site.days_at(30, 11.8);
  REQUIRE(site.count(DecisionKind::hold_ended) == 1);
  const auto ended = site.told(DecisionKind::hold_ended)[0];
  CHECK(days_of(ended.time - placed.time) >= 28);
  CHECK(days_of(ended.time - placed.time) <= 42);
  CHECK(ended.feeding == Feeding::reduced);
  CHECK(ended.strength_percent == 25);
}

TEST_CASE("A three-night snap is withdrawn and the feeding of before is back the same day") {
  SyntheticSite site;
  site.days_at(50, 18);
  REQUIRE(site.bench().strength_percent == 100);
  site.days_at(4, 9);
  REQUIRE(site.count(DecisionKind::hold_placed) == 1);
  CHECK(site.bench().strength_percent == 0);
  site.days_at(14, 18);
  REQUIRE(site.count(DecisionKind::hold_withdrawn) == 1);
  const auto withdrawn = site.told(DecisionKind::hold_withdrawn)[0];
  CHECK(withdrawn.feeding == Feeding::full);
  CHECK(withdrawn.strength_percent == 100);
  CHECK(withdrawn.text().find("days of plain water") != std::string::npos);
  CHECK(site.bench().strength_percent == 100);
  CHECK(site.count(DecisionKind::hold_ended) == 0);
}

TEST_CASE("A second fall during a hold extends it by 28 days at least") {
  SyntheticSite site;
  site.days_at(50, 19);
  site.days_at(16, 12.5);
  REQUIRE(site.count(DecisionKind::hold_placed) == 1);
  const Instant before = site.bench().hold->planned_end;
  site.days_at(8, 6.5);
  REQUIRE(site.count(DecisionKind::hold_extended) == 1);
  const auto extended = site.told(DecisionKind::hold_extended)[0];
  CHECK(extended.hold->id == 1);
  CHECK(site.bench().hold->planned_end > before);
  CHECK(site.bench().hold->planned_end >= extended.time + 28 * kDay);
  CHECK(site.bench().hold->latest_end <= site.bench().hold->placed + 63 * kDay);
  CHECK(site.count(DecisionKind::hold_placed) == 1);
}

TEST_CASE("One degree a week cooler is no sharp drop") {
  SyntheticSite site;
  site.days_at(50, 20);
  const Instant start = site.now;
  site.air = [start](Instant t) { return 20 - days_of(t - start) / 7; };
  site.days(56);
  CHECK(site.count(DecisionKind::hold_placed) == 0);
}

TEST_CASE(
    "The end of a heat wave holds nothing: the guard wants a landing near the group's number") {
  SyntheticSite site;
  site.days_at(50, 26);
  site.days_at(20, 19);
  CHECK(site.count(DecisionKind::hold_placed) == 0);
  SyntheticSite without;
  without.settings->drops.comfort_guard = false;
  without.days_at(50, 26);
  without.days_at(20, 19);
  CHECK(without.count(DecisionKind::hold_placed) == 1);
}

TEST_CASE("A spring cold spell passes the season gate only when it is deep") {
  const auto spring = [](double cold_c) {
    SyntheticSite site;
    site.now = *parse_rfc3339("2027-02-10T12:00:00Z");
    site.days_at(40, 17);
    site.days_at(12, cold_c);
    return site;
  };
  const SyntheticSite mild = spring(12.3);
  CHECK(mild.count(DecisionKind::hold_placed) == 0);
  REQUIRE(mild.count(DecisionKind::notice) >= 1);
  CHECK(mild.told(DecisionKind::notice)[0].text().find("days are growing longer") !=
        std::string::npos);
  CHECK(spring(10.3).count(DecisionKind::hold_placed) == 1);  // 6.7 °C
}

TEST_CASE("In the southern hemisphere autumn is autumn, and on the equator there is no gate") {
  const auto fall_in_april = [](double latitude) {
    SyntheticSite site(1, Group::intermediate, latitude);
    site.now = *parse_rfc3339("2027-03-01T12:00:00Z");
    site.days_at(35, 17);
    site.days_at(12, 12.2);
    return site.count(DecisionKind::hold_placed);
  };
  CHECK(fall_in_april(-37.8) == 1);
  CHECK(fall_in_april(0.3) == 1);
  CHECK(fall_in_april(52.2) == 0);
}

TEST_CASE("A polar site closes its nights, sun or no sun") {
  SyntheticSite site(1, Group::cool, 78.2);
  site.now = *parse_rfc3339("2026-05-01T00:00:00Z");
  site.days_at(300, 12);
  CHECK(site.out.nights.size() >= 298);
  CHECK(site.out.nights.size() <= 301);
  for (const NightRow& n : site.out.nights) CHECK(n.sunset < n.sunrise);
}

TEST_CASE("Detected holds end at 63 days, the grower is asked, and 21 days of rest follow") {
  SyntheticSite site;
  site.settings->drops.longest_plain_water_days = 45;
  site.days_at(50, 24);
  site.days_at(16, 12.5);
  site.days_at(16, 8.5);
  site.days_at(16, 4.5);
  site.days_at(2, 4.5);
  REQUIRE(site.count(DecisionKind::hold_ended) == 1);
  const auto ended = site.told(DecisionKind::hold_ended)[0];
  CHECK(ended.cause == Cause::cap);
  CHECK(days_of(ended.time - site.told(DecisionKind::hold_placed)[0].time) ==
        Approx(45).margin(0.01));
  const auto notices = site.told(DecisionKind::notice);
  CHECK(std::any_of(notices.begin(), notices.end(),
                    [](const auto& d) { return d.cause == Cause::cap; }));
  CHECK_FALSE(site.bench().questions.empty());
  CHECK(site.ask(feeding::RequestKind::acknowledge).done);
  CHECK(site.bench().questions.empty());
}
