// Readings, requests and the clock at the engine's edge.
#include <catch2/catch.hpp>

#include "damage.h"
#include "synthetic_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using feeding::Cause;
using feeding::DecisionKind;
using feeding::Feeding;
using feeding::RequestKind;

namespace {
Reading reading(Instant t, double celsius) {
  return {SensorId(0), Quantity::temperature, t, to_milli(celsius)};
}
}  // namespace

TEST_CASE("What becomes of a reading") {
  SyntheticSite site;
  site.days_at(10, 18);
  Outcome& out = site.out;
  Engine& engine = *site.engine;
  const Instant now = engine.now();
  CHECK(engine.take(reading(now + minutes(1), 17), now, out) == Taken::used);
  CHECK(engine.take(reading(now + minutes(1), 17), now, out) == Taken::repeated);
  CHECK(engine.take(reading(now + minutes(1), 16), now, out) == Taken::conflicting);
  CHECK(engine.take(reading(now + minutes(6), 17), now, out) == Taken::future);
  CHECK(engine.take(reading(now - kDay + minutes(7), 17), now, out) == Taken::history);
  CHECK(engine.counters().at("history") == 1);
}

TEST_CASE(
    "A reading after its night's close corrects the night and is told, and no decision changes") {
  SyntheticSite site;
  const Instant night = *parse_rfc3339("2026-07-05T23:00:00Z");
  site.says = [night](std::size_t, Instant t, double c) {
    return std::chrono::abs(t - night) < hours(1) ? std::nan("") : c;
  };
  site.days_at(10.9, 18);  // 6 July, 09:30
  REQUIRE(site.out.nights.back().night == "2026-07-05");
  const double before = site.out.nights.back().mean_c;
  CHECK(site.engine->take(reading(night, 15.5), site.engine->now(), site.out) == Taken::revised);
  site.days(1);
  const auto& nights = site.out.nights;
  const auto revised = std::count_if(nights.begin(), nights.end(),
                                     [](const NightRow& n) { return n.night == "2026-07-05"; });
  CHECK(revised == 2);
  const auto last = std::find_if(nights.rbegin(), nights.rend(),
                                 [](const NightRow& n) { return n.night == "2026-07-05"; });
  CHECK(last->mean_c < before);
  CHECK(site.told(DecisionKind::notice).back().evidence.json().find("\"late_readings\":1") !=
        std::string::npos);
}

TEST_CASE("A reading from the future waits for its time") {
  SyntheticSite site;
  site.days_at(5, 18);
  const Instant later = site.engine->now() + hours(3);
  CHECK(site.engine->take(reading(later, 17.2), site.engine->now(), site.out) == Taken::future);
  CHECK(site.bench().temperature_c > 17.4);
  site.engine->advance(later, site.out);
  CHECK(site.bench().temperature_c == Approx(17.2));
}

TEST_CASE("A sensor that floods the future silences no other, nor itself once it is right") {
  SyntheticSite site(2);
  site.days_at(5, 18);
  const Instant now = site.engine->now();
  const auto take = [&](std::uint32_t sensor, Instant t, Milli value) {
    return site.engine->take({SensorId(sensor), Quantity::temperature, t, value}, now, site.out);
  };
  for (int i = 0; i < 10'500; ++i) take(0, now + 400 * kDay + seconds(i), 30'000);
  CHECK(take(1, now + hours(3), 17'200) == Taken::future);
  CHECK(take(0, now + hours(3), 17'400) == Taken::future);
  site.engine->advance(now + hours(3), site.out);
  CHECK(site.bench().temperature_c == Approx(17.3));
}

TEST_CASE("The grower's word: hold, extend, release, and the same id changes nothing twice") {
  SyntheticSite site;
  site.days_at(50, 18);
  const auto hold = site.ask(RequestKind::hold, [&](auto& r) {
    r.until = site.now + 10 * kDay;
    r.id = "same";
  });
  REQUIRE(hold.done);
  const auto decisions = site.out.decisions.size();
  const auto again = site.ask(RequestKind::hold, [&](auto& r) {
    r.until = site.now + 10 * kDay;
    r.id = "same";
  });
  CHECK(again.text() == hold.text());
  CHECK(site.ask(RequestKind::hold,
                 [&](auto& r) {
                   r.until = site.now + 20 * kDay;
                   r.id = "same";
                 })
            .problem == "id-reused");
  CHECK(site.out.decisions.size() == decisions);
  CHECK(site.bench().hold->planned_end == site.now + 10 * kDay);
  CHECK(site.ask(RequestKind::extend, [&](auto& r) { r.until = site.now + 15 * kDay; }).done);
  CHECK(site.bench().hold->planned_end == site.now + 15 * kDay);
  site.days(2);
  CHECK(site.ask(RequestKind::release, [](auto& r) { r.full = true; }).done);
  CHECK(site.bench().strength_percent == 100);
  CHECK(site.ask(RequestKind::release).problem == "nothing-to-release");
  CHECK(site.ask(RequestKind::hold, [](auto& r) { r.bench = "lnog"; }).text() ==
        "there is no bench \"lnog\" in the settings; did you mean long?");
  CHECK(site.ask(RequestKind::hold, [](auto& r) { r.bench = "nowhere"; }).problem ==
        "unknown-bench");
}

TEST_CASE("An announced hold begins on its day") {
  SyntheticSite site;
  site.days_at(50, 18);
  const Instant from = site.now + 5 * kDay;
  CHECK(site.ask(RequestKind::hold,
                 [&](auto& r) {
                   r.from = from;
                   r.until = from + 7 * kDay;
                 })
            .done);
  CHECK(site.bench().feeding == Feeding::full);
  site.days(6);
  REQUIRE(site.count(DecisionKind::hold_placed) == 1);
  CHECK(site.told(DecisionKind::hold_placed)[0].time == from);
  CHECK(site.told(DecisionKind::hold_placed)[0].cause == Cause::announced);
  site.days(7);
  CHECK(site.told(DecisionKind::hold_ended)[0].time == from + 7 * kDay);
}

TEST_CASE("A pump follows its order only when armed") {
  SyntheticSite site;
  site.days_at(5, 18);
  CHECK_FALSE(site.engine->pumps()[0].armed);
  CHECK(site.ask(RequestKind::arm, [](auto& r) { r.pump = "pump"; }).done);
  CHECK(site.engine->pumps()[0].armed);
  CHECK(site.ask(RequestKind::arm, [](auto& r) { r.pump = "other"; }).problem == "unknown-pump");
  CHECK(site.ask(RequestKind::disarm, [](auto& r) { r.pump = "pump"; }).done);
  CHECK_FALSE(site.engine->pumps()[0].armed);
}

TEST_CASE(
    "While the clock is not believed time goes on and nothing is released; what waited is decided "
    "when it is") {
  SyntheticSite site;
  site.days_at(50, 18);
  REQUIRE(site.ask(RequestKind::hold, [&](auto& r) { r.until = site.now + 5 * kDay; }).done);
  site.engine->settle_clock(ClockTrust::doubted, site.now, site.out);
  site.days(7);
  CHECK(site.bench().feeding == Feeding::plain_water);
  CHECK(site.count(DecisionKind::hold_ended) == 0);
  CHECK(site.out.nights.size() >= 56);
  CHECK(site.ask(RequestKind::release).problem == "clock-unsettled");
  site.engine->settle_clock(ClockTrust::settled, site.now, site.out);
  REQUIRE(site.count(DecisionKind::hold_ended) == 1);
  CHECK(site.told(DecisionKind::hold_ended)[0].time == site.engine->now());
  CHECK(site.bench().strength_percent == 25);
}

TEST_CASE("A chill is placed even while the clock is not believed") {
  SyntheticSite site;
  site.days_at(50, 18);
  site.engine->settle_clock(ClockTrust::doubted, site.now, site.out);
  site.days_at(1, 6);
  CHECK(site.bench().cause == Cause::chill);
}

TEST_CASE("A bench new to the settings gets plain water until its first night") {
  SyntheticSite site;
  site.days_at(30, 18);
  auto changed = std::make_shared<Settings>(*site.settings);
  Bench added = changed->benches[0];
  added.name = "mist";
  changed->benches.push_back(added);
  auto restored = Engine::restore(changed, site.engine->snapshot());
  REQUIRE(restored);
  CHECK(restored->bench(1).feeding == Feeding::plain_water);
  Outcome out;
  restored->advance(restored->now() + minutes(1), out);
  CHECK(restored->bench(1).cause == feeding::Cause::not_heard);
  CHECK(restored->bench(0).strength_percent == site.bench().strength_percent);
}

TEST_CASE("A grower's hold does not use up what detection may ask for") {
  SyntheticSite site;
  site.days_at(50, 18);
  REQUIRE(site.ask(RequestKind::hold, [&](auto& r) { r.until = site.now + 60 * kDay; }).done);
  site.days(50);
  site.days_at(15, 11.5);
  REQUIRE(site.count(DecisionKind::hold_extended) == 1);
  CHECK(site.bench().hold->earliest_end >=
        site.told(DecisionKind::hold_extended)[0].time + 28 * kDay);
}

TEST_CASE("More than the yearly plain water asks the grower") {
  SyntheticSite site;
  site.settings->drops.yearly_plain_water_days = 20;
  site.days_at(50, 19);
  site.days_at(30, 11);
  const auto notices = site.told(DecisionKind::notice);
  CHECK(std::any_of(notices.begin(), notices.end(),
                    [](const auto& d) { return d.cause == Cause::yearly_budget; }));
  CHECK(site.bench().plain_water_days_in_year > 20);
}

TEST_CASE("A snapshot restores under settings with a bench more and a sensor less") {
  SyntheticSite site(2);
  site.days_at(50, 18);
  site.days_at(6, 10);
  REQUIRE(site.bench().hold);
  auto changed = std::make_shared<Settings>(*site.settings);
  changed->sensors.erase(changed->sensors.begin());
  changed->benches[0].sensors = {SensorId(0)};
  Bench added = changed->benches[0];
  added.name = "mist";
  changed->benches.push_back(added);
  auto restored = Engine::restore(changed, site.engine->snapshot());
  REQUIRE(restored);
  CHECK(restored->bench(0).hold->placed == site.bench().hold->placed);
  CHECK_FALSE(restored->bench(1).hold);
}

TEST_CASE("A snapshot that is cut off or damaged in one byte is refused, and says so") {
  SyntheticSite site;
  site.days_at(5, 18);
  const std::string bytes = site.engine->snapshot();
  const auto check = [&](const std::string& damaged) {
    const auto restored = Engine::restore(site.settings, damaged);
    if (restored || restored.error().what.empty() || restored.error().remedy.empty())
      FAIL("taken, or no reason given, " << damaged.size() << " bytes");
  };
  for_every_prefix(bytes, check);
  for (std::size_t at = 0; at < bytes.size(); ++at) {
    std::string damaged = bytes;
    damaged[at] = static_cast<char>(damaged[at] ^ (1 << at % 8));
    check(damaged);
    check(bytes.substr(0, at) + bytes.substr(at + 1));
  }
}

TEST_CASE("A request that was answered before ten thousand others does not act again") {
  SyntheticSite site;
  site.days_at(2, 18);
  feeding::Request first;
  first.id = "first";
  first.who = "Ines";
  first.kind = RequestKind::hold;
  first.bench = "long";
  first.sent = site.now;
  REQUIRE(site.engine->take(first, site.now, site.out).done);
  REQUIRE(site.ask(RequestKind::release).done);
  site.now += seconds(1);
  for (int i = 0; i < 9'998; ++i) site.ask(RequestKind::release);
  CHECK_FALSE(site.engine->refused_by_times(first, site.now));  // its answer is known
  CHECK(site.engine->take(first, site.now, site.out).done);
  CHECK(site.bench().feeding != Feeding::plain_water);
  site.ask(RequestKind::release);
  const auto refused = site.engine->refused_by_times(first, site.now);
  REQUIRE(refused);
  CHECK(refused->problem == "sent-too-long-ago");
  first.sent = site.now;
  CHECK_FALSE(site.engine->refused_by_times(first, site.now));
}
