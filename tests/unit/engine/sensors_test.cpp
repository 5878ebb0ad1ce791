// What sensors do wrong, and what the engine makes of it.
#include <catch2/catch.hpp>
#include <limits>

#include "synthetic_site.h"

using namespace plainwater;
using namespace plainwater::engine;
using feeding::Cause;
using feeding::DecisionKind;
using feeding::Feeding;

namespace {

bool doubted(const SyntheticSite& site, Cause cause, const std::string& sensor) {
  const auto all = site.told(DecisionKind::sensor_doubted);
  return std::any_of(all.begin(), all.end(), [&](const auto& d) {
    return d.cause == cause && d.evidence.json().find(sensor) != std::string::npos;
  });
}
}  // namespace

TEST_CASE(
    "A bench that stands at exactly 18.0 is told as stuck, goes on, and its drop is still found") {
  SyntheticSite site;
  site.air = [](Instant) { return 18.0; };
  site.says = [](std::size_t, Instant t, double) {
    return t < *parse_rfc3339("2026-08-24T12:00:00Z") ? 18.0 : 10.0 + SyntheticSite::wave(t);
  };
  site.days(60);
  CHECK(doubted(site, Cause::stuck, "long-a"));
  CHECK(site.bench().counted_nights >= 58);
  CHECK_FALSE(site.bench().blind);
  site.days(10);
  CHECK(site.count(DecisionKind::hold_placed) == 1);
}

TEST_CASE(
    "A sensor frozen five degrees under the air makes no hold, and the bench is blind, not cold") {
  SyntheticSite site;
  site.days_at(50, 18);
  const Instant frozen = site.now;
  site.says = [frozen](std::size_t, Instant t, double c) {
    return t < frozen || t > frozen + 20 * kDay ? c : 11.0;
  };
  site.days(20);
  CHECK(doubted(site, Cause::stuck, "long-a"));
  CHECK(site.count(DecisionKind::hold_placed) == 0);
  site.days(30);
  CHECK(site.count(DecisionKind::hold_placed) == 0);
  CHECK(site.count(DecisionKind::sensor_trusted) == 1);
}

TEST_CASE("Of five sensors one falls silent: it is told, and the nights go on counting") {
  SyntheticSite site(5);
  site.days_at(30, 18);
  const Instant gone = site.now;
  site.says = [gone](std::size_t s, Instant t, double c) {
    return s == 2 && t >= gone && t < gone + 5 * kDay ? kNothing : c;
  };
  site.days(10);
  REQUIRE(doubted(site, Cause::silent, "long-c"));
  const auto silent = site.told(DecisionKind::sensor_doubted)[0];
  CHECK(silent.time - gone <= hours(2));  // three of its half hours
  CHECK(site.count(DecisionKind::night_blind) == 0);
  const auto trusted = site.told(DecisionKind::sensor_trusted);
  REQUIRE(trusted.size() == 1);
  CHECK(hours_of(trusted[0].time - (gone + 5 * kDay)) ==
        Approx(1).margin(0.01));  // an hour of good values
}

TEST_CASE("Of three sensors the one that drifts is left out, and only that one") {
  SyntheticSite site(3);
  const Instant start = site.now;
  site.air = [](Instant) { return 18.0; };
  site.says = [start](std::size_t s, Instant t, double c) {
    return s == 0 ? c - 0.1 * days_of(t - start) : c;
  };
  site.days(70);
  CHECK(doubted(site, Cause::drifting, "long-a"));
  CHECK_FALSE(doubted(site, Cause::drifting, "long-b"));
  CHECK_FALSE(doubted(site, Cause::drifting, "long-c"));
  CHECK(site.bench().night_mean_c == Approx(18).margin(1));
  CHECK(site.count(DecisionKind::hold_placed) == 0);
}

TEST_CASE("Of two that disagree nobody is blamed, and a person is told once") {
  SyntheticSite site(2);
  const Instant start = site.now;
  site.says = [start](std::size_t s, Instant t, double c) {
    return s == 0 && t > start + 30 * kDay ? c + 3 : c;
  };
  site.days(60);
  CHECK(site.count(DecisionKind::sensor_doubted) == 0);
  const auto notices = site.told(DecisionKind::notice);
  CHECK(std::count_if(notices.begin(), notices.end(),
                      [](const auto& d) { return d.cause == Cause::drifting; }) == 1);
}

TEST_CASE("Power-on and disconnected values are refused and told") {
  SyntheticSite site;
  site.air = [](Instant) { return 18.0; };
  site.says = [](std::size_t, Instant t, double c) {
    const auto n = to_ms(t) / 1'800'000;
    return n % 4 != 0 ? c : n % 8 == 0 ? 85.0 : -127.0;
  };
  site.days(40);
  CHECK(doubted(site, Cause::out_of_range, "long-a"));
  CHECK(site.bench().night_mean_c > 16);
  CHECK(site.bench().night_mean_c < 20);
  CHECK(site.count(DecisionKind::hold_placed) == 0);
  CHECK_FALSE(site.told_of(Cause::chill));
}

TEST_CASE("Blind: two nights give weak feed, seven plain water, 35 weak feed and a question") {
  SyntheticSite site;
  site.now = *parse_rfc3339("2026-04-25T12:00:00Z");
  site.days_at(50, 18);
  site.says = [](std::size_t, Instant, double) { return kNothing; };
  site.days(3.5);
  CHECK(site.bench().strength_percent == 25);
  CHECK(site.bench().cause == Cause::blind);
  site.days(6);
  CHECK(site.bench().feeding == Feeding::plain_water);
  site.days(20);
  CHECK(site.bench().feeding == Feeding::plain_water);
  site.days(10);
  CHECK(site.bench().strength_percent == 25);
  CHECK_FALSE(site.bench().questions.empty());
  site.says = [](std::size_t, Instant, double c) { return c; };
  site.days(30);
  CHECK(site.bench().strength_percent == 100);
  CHECK(site.count(DecisionKind::hold_placed) == 0);
}

TEST_CASE("A gap of more than a fortnight starts the learning of the level afresh") {
  SyntheticSite site;
  site.days_at(50, 18);
  site.says = [](std::size_t, Instant, double) { return kNothing; };
  site.days(20);
  site.says = [](std::size_t, Instant, double c) { return c; };
  site.days_at(20, 11);
  CHECK(site.count(DecisionKind::hold_placed) == 0);  // nobody saw it fall
  CHECK(site.bench().acclimated_c == Approx(11).margin(1.5));
}

TEST_CASE("Deep cold: two readings in a row far below the floor, plain water whatever is exempt") {
  SyntheticSite site;
  site.days_at(50, 18);
  REQUIRE(site.ask(feeding::RequestKind::exempt, [&](auto& r) { r.until = site.now + 30 * kDay; })
              .done);
  const Instant cold = site.now;
  site.air = [cold](Instant t) { return t < cold + hours(2) ? 7.0 : 18.0; };
  site.days(1);
  CHECK(site.bench().feeding == Feeding::plain_water);
  CHECK(site.bench().cause == Cause::chill);
  const auto changed = site.told(DecisionKind::feeding_changed);
  CHECK(changed.back().time - cold <= minutes(45));
  site.days(3);
  CHECK(site.bench().strength_percent == 100);
}

TEST_CASE("Degree-hours are the same however often the sensor reports, and gaps count for little") {
  const auto hours_until_chill = [](Span interval, bool gap) {
    SyntheticSite site;
    site.interval = interval;
    site.days_at(50, 18);
    const Instant cold = site.now;
    site.air = [](Instant t) { return 9.0 - SyntheticSite::wave(t); };
    site.says = [=](std::size_t, Instant t, double c) {
      return gap && t > cold + hours(1) && t < cold + hours(5) ? kNothing : c;
    };
    site.days(1);
    REQUIRE(site.told_of(Cause::chill));
    for (const auto& d : site.out.decisions)
      if (d.cause == Cause::chill) return days_of(d.time - cold) * 24;
    return 0.0;
  };
  // One degree under the floor: six hours from the first of two readings, and what waits for late
  // ones.
  for (const Span interval : {minutes(10), minutes(30), minutes(60)})
    CHECK(hours_until_chill(interval, false) == Approx(6.25).margin(days_of(interval) * 24));
  // Of four silent hours no more counts than the sensor's gap.
  CHECK(hours_until_chill(minutes(10), true) > 8.5);
}

TEST_CASE("One cold reading alone chills nobody") {
  SyntheticSite site;
  site.days_at(50, 18);
  const Instant glitch = site.now + hours(5);
  site.says = [glitch](std::size_t, Instant t, double c) { return t == glitch ? 2.0 : c; };
  site.days(2);
  CHECK_FALSE(site.told_of(Cause::chill));
}
