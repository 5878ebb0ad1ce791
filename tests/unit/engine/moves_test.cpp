// Where benches stand by their air and what their moves lead to, through the whole engine.
#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>

#include "carried_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using feeding::Cause;
using feeding::Decision;
using feeding::DecisionKind;
using feeding::Feeding;
using feeding::Request;
using feeding::RequestKind;

TEST_CASE(
    "A bench that is carried out is seen within hours, held, and its colder nights confirm it") {
  CarriedSite site;
  site.days(45);
  REQUIRE(site.stands().position == kIn);
  REQUIRE(site.bench().feeding == Feeding::full);
  const Instant moved = site.now;
  site.place = kOut;
  site.days(6);
  REQUIRE(site.moves().size() == 1);
  const Decision change = site.moves()[0];
  CHECK(change.cause == Cause::moved_outdoors);
  CHECK(change.position == kOut);
  CHECK(change.pattern == season::Pattern::settled);
  CHECK(change.feeding == Feeding::plain_water);  // to which it led
  CHECK(change.time > moved);
  CHECK(change.time - moved <= hours(6));
  REQUIRE(change.since);
  CHECK(std::abs(hours_of(*change.since - moved)) <= 1);
  // It is decided when the reorder window of the reading that shows it has passed.
  CHECK(to_ms(change.time - minutes(10)) % site.interval.count() == 0);
  REQUIRE(site.count(DecisionKind::hold_placed) == 1);
  CHECK(site.told(DecisionKind::hold_placed)[0].time == change.time);
  CHECK(site.told(DecisionKind::hold_placed)[0].cause == Cause::moved_outdoors);
  REQUIRE(site.count(DecisionKind::hold_confirmed) == 1);
  const double nights = days_of(site.told(DecisionKind::hold_confirmed)[0].time - moved);
  CHECK(nights > 2);
  CHECK(nights < 4);
  site.days(20);
  CHECK(site.holds() == 1);
  CHECK_FALSE(
      std::any_of(site.out.decisions.begin(), site.out.decisions.end(),
                  [](const Decision& d) { return d.hold && d.cause == Cause::sharp_drop; }));
  CHECK(in_order(site.out));
  CHECK(site.stands().position == kOut);
  CHECK(site.stands().probability > 0.5);
  CHECK(std::abs(hours_of(site.stands().since - moved)) <= 1);
}

TEST_CASE("A bench that comes to warmth has weak feed for two weeks") {
  CarriedSite site;
  site.outdoor_c = 17;
  site.indoor_c = 23;
  site.place = kOut;
  site.days(45);
  REQUIRE(site.stands().position == kOut);
  REQUIRE(site.bench().feeding == Feeding::full);
  site.place = kIn;
  site.days(5);
  CHECK(site.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(site.bench().cause == Cause::after_move);
  CHECK(site.bench().strength_percent == 50);
  site.days(18);
  CHECK(site.bench().strength_percent == 100);
}

TEST_CASE("The nights' column tells where it stood for most of the night") {
  CarriedSite site;
  site.days(8.2);
  site.place = kOut;  // in the evening
  site.days(3);
  site.place = kIn;
  site.days(3);
  CHECK(site.out.nights.size() >= 13);
  for (const NightRow& night : site.out.nights) {
    const auto expected = night.night < "2026-07-03" || night.night >= "2026-07-06" ? kIn : kOut;
    if (night.night != "2026-06-25") CHECK(night.position == expected);
  }
}

TEST_CASE("A bench that never moves has no position decision, whatever its air does") {
  CarriedSite site(Moves::never);
  site.settings->benches[0].place = kOut;
  site.days(15);
  site.place = kOut;
  site.days(10);
  site.silent = true;
  site.days(3);
  CHECK(site.changes().empty());
  CHECK(site.stands().position == kOut);
  CHECK(site.stands().last_known == kOut);
  CHECK(site.stands().probability == 1);
  for (const NightRow& night : site.out.nights) CHECK(night.position == kOut);
  for (const Decision& d : site.out.decisions) CHECK_FALSE(is_move(d.cause));
  CHECK(site.move(kIn).problem == "does-not-move");
}

TEST_CASE(
    "A bench that is silent for more than a day is nowhere at the night's close, and where it was "
    "when it is back") {
  CarriedSite site;
  site.days(10);
  const std::size_t before = site.changes().size();
  const Instant quiet = site.now;
  site.silent = true;
  site.days(3);
  REQUIRE(site.changes().size() == before + 1);
  const Decision lost = site.changes().back();
  CHECK(lost.position == Position::unknown);
  CHECK(lost.cause == Cause::none);
  CHECK(lost.passing);  // a doubt is no move: the ledger need not have it
  CHECK(lost.time - quiet > kDay - hours(1));
  CHECK(lost.time - quiet < 2 * kDay);
  CHECK(lost.time == site.out.nights[site.out.nights.size() - 2].sunrise + hours(1));
  CHECK(lost.evidence.json().find("\"last_known\":\"indoors\"") != std::string::npos);
  CHECK(lost.evidence.json().find("\"probability\"") != std::string::npos);
  CHECK(site.stands().position == Position::unknown);
  CHECK(site.stands().last_known == kIn);
  CHECK(site.out.nights.back().position == Position::unknown);
  site.silent = false;
  site.days(2);
  CHECK(site.stands().position == kIn);
  CHECK(site.holds() == 0);
  CHECK(site.changes().size() == before + 2);
  CHECK(site.changes().back().passing);
}

TEST_CASE("Carried out and in day by day it shuttles: one hold when it starts and none a day") {
  CarriedSite site;
  site.days(20);
  site.days(21.0 / 24);  // to nine in the morning
  for (int day = 0; day < 12; ++day) {
    site.place = kOut;
    site.days(8.0 / 24);
    site.place = kIn;
    site.days(16.0 / 24);
  }
  CHECK(site.stands().pattern == season::Pattern::shuttling);
  CHECK(site.holds() == 1);
  const auto changes = site.changes();
  CHECK(std::count_if(changes.begin(), changes.end(),
                      [](const Decision& d) { return d.cause == Cause::shuttling; }) == 1);
  // Of all its places the ledger has the single moves and the one that made it shuttling; and a
  // word a week.
  const auto began = std::find_if(changes.begin(), changes.end(),
                                  [](const Decision& d) { return d.cause == Cause::shuttling; });
  CHECK(std::none_of(changes.begin(), began + 1,
                     [](const Decision& d) { return d.passing && is_move(d.cause); }));
  CHECK(std::all_of(began + 1, changes.end(), [](const Decision& d) { return d.passing; }));
  CHECK(changes.end() - began > 12);
  const auto weeks = [&] {
    std::vector<Decision> told;
    for (const Decision& d : site.told(DecisionKind::notice))
      if (d.evidence.json().find("\"times\"") != std::string::npos) told.push_back(d);
    return told;
  };
  REQUIRE(weeks().size() == 1);
  CHECK(weeks()[0].text() == "This week the bench was carried in and out on 7 days.");
  CHECK(weeks()[0].cause == Cause::shuttling);
  site.days(8);
  CHECK(site.stands().pattern == season::Pattern::settled);
  const Decision ended = site.changes().back();
  CHECK(ended.cause == Cause::shuttling);
  CHECK(ended.pattern == season::Pattern::settled);
  CHECK(ended.position == kIn);
  CHECK_FALSE(ended.passing);
  CHECK(in_order(site.out));
}

TEST_CASE("While the clock is not believed a move is answered and nothing is withdrawn") {
  CarriedSite site;
  site.days(45);
  site.engine->settle_clock(ClockTrust::doubted, site.now, site.out);
  site.place = kOut;
  site.days(0.3);
  CHECK(site.count(DecisionKind::hold_placed) == 1);
  site.place = kIn;
  site.days(6);
  CHECK(site.move(kOut).problem == "clock-unsettled");
  CHECK(site.count(DecisionKind::hold_withdrawn) == 0);
  CHECK(site.bench().feeding == Feeding::plain_water);
  site.engine->settle_clock(ClockTrust::settled, site.now, site.out);
  site.days(1);
  CHECK(site.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(site.bench().strength_percent == 100);
  CHECK(in_order(site.out));
}

TEST_CASE("A restore in the middle of a move gives the same bytes and decides the same") {
  ContactSite site;
  site.days(12);
  site.place = kOut;
  for (int cut = 0; cut < 12; ++cut) {
    site.days(0.02 + 0.05 * cut);
    if (cut == 5) site.move(kIn, site.now - hours(1));
    if (cut == 8) site.word(kOut, site.now, site.now);
    const std::string bytes = site.engine->snapshot();
    auto whole = Engine::restore(site.settings, bytes),
         broken = Engine::restore(site.settings, bytes);
    REQUIRE(whole);
    REQUIRE(broken);
    REQUIRE(broken->snapshot() == bytes);
    Outcome on_whole, on_broken;
    int steps = 0;
    for (Instant t = site.now; t < site.now + 5 * kDay; t += minutes(30)) {
      const double bench_c = (t < site.now + hours(30) ? 8 : 18) + CarriedSite::restless(t, 3);
      const double says_c[3] = {bench_c, site.outdoors(t), site.indoors(t)};
      for (std::uint32_t s = 0; s < 3; ++s) {
        const Instant at = t + seconds(static_cast<int>(s));
        whole->take({SensorId(s), Quantity::temperature, at, to_milli(says_c[s])}, at, on_whole);
        broken->take({SensorId(s), Quantity::temperature, at, to_milli(says_c[s])}, at, on_broken);
      }
      if (++steps % 7 == 0) broken = Engine::restore(site.settings, broken->snapshot());
      REQUIRE(broken);
    }
    REQUIRE(on_whole.decisions.size() == on_broken.decisions.size());
    for (std::size_t i = 0; i < on_whole.decisions.size(); ++i)
      CHECK(to_json(on_whole.decisions[i]) == to_json(on_broken.decisions[i]));
    CHECK(whole->snapshot() == broken->snapshot());
  }
}

TEST_CASE("A bench that shuttled and is fixed by its settings now does not shuttle any more") {
  CarriedSite site(Moves::declared);
  site.days(5);
  for (int day = 0; day < 3; ++day) {
    site.days(0.6);
    site.move(kOut);
    site.days(0.4);
    site.move(kIn);
  }
  REQUIRE(site.stands().pattern == season::Pattern::shuttling);
  auto fixed = std::make_shared<Settings>(*site.settings);
  fixed->benches[0].moves = Moves::never;
  auto restored = Engine::restore(fixed, site.engine->snapshot());
  REQUIRE(restored);
  CHECK(restored->bench(0).place.pattern == season::Pattern::settled);
}

TEST_CASE("A single wild reading of the bench moves nothing") {
  CarriedSite site;
  site.days(10);
  const std::size_t before = site.out.decisions.size();
  for (const double wild_c : {8.0, 2.0, -12.0, 33.0, 48.0}) {
    site.one_reading(0, site.now - minutes(4), wild_c);
    site.days(0.4);
  }
  for (std::size_t i = before; i < site.out.decisions.size(); ++i)
    CHECK_FALSE(is_move(site.out.decisions[i].cause));
  CHECK(site.holds() == 0);
  CHECK(site.stands().position == kIn);
}

TEST_CASE("Without the reference indoors, and with one that is frozen, the place is still told") {
  CarriedSite site;
  const bool frozen = GENERATE(false, true);
  const auto all = site.says;
  site.says = [all, frozen](std::size_t s, Instant t, double c) {
    return s == 2 ? (frozen ? 18.0 : kNothing) : all(s, t, c);
  };
  site.days(10);
  CHECK(site.stands().position == kIn);
  site.place = kOut;
  site.days(1);
  CHECK(site.stands().position == kOut);
  site.place = kIn;
  site.days(1);
  CHECK(site.stands().position == kIn);
}

TEST_CASE("A state of before the sun was known is read, and goes on") {
  std::ifstream file(PLAINWATER_SOURCE "/tests/data/snapshots/version-7.bin", std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(file), {}};
  REQUIRE(bytes.size() > 4096);
  CarriedSite site;
  auto restored = Engine::restore(site.settings, bytes);
  REQUIRE(restored);
  CHECK(restored->bench(0).place.position == kOut);
  const std::string saved = restored->snapshot();
  auto again = Engine::restore(site.settings, saved);
  REQUIRE(again);
  CHECK(again->snapshot() == saved);
  site.engine = std::make_unique<Engine>(std::move(*restored));
  site.now = *parse_rfc3339("2026-07-15T18:00:00Z");
  site.place = kOut;
  site.days(3);
  CHECK(site.stands().position == kOut);
  CHECK(site.changes().empty());
  site.place = kIn;
  site.days(1);
  CHECK(site.stands().position == kIn);
}
