// The season's share: full, weak, and gentle ways up.
#include "feeding/season_feeding.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::feeding;

namespace {

/// A bench of the intermediate group, a night after another.
struct Season {
  FeedingRules rules;
  SeasonFeeding feeding;
  SeasonFacts facts;
  Instant now = from_seconds(1'789'344'000);

  Season() {
    facts.counted = true;
    facts.light_h = 14;
    facts.n14_c = 15;
    facts.group_night_c = 13;
    facts.growing_night_c = 16;
  }
  /// Passes nights; returns the strength after the last.
  int nights(int count) {
    for (int i = 0; i < count; ++i, now += kDay) {
      feeding.take_night(facts, now, rules);
      feeding.proceed(now, rules);
    }
    return feeding.percent();
  }
  int dull(int count) {
    facts.light_h = 8;
    facts.n14_c = 13.5;
    return nights(count);
  }
  int bright(int count) {
    facts.light_h = 14;
    facts.n14_c = 15;
    return nights(count);
  }
};

}  // namespace

TEST_CASE(
    "Reduced strength: rate at the nights against the growing nights, times the light, within 25 "
    "to 50 %") {
  const FeedingRules rules;
  SeasonFacts f;
  f.n14_c = 10;
  f.growing_night_c = 20;
  f.light_h = 12;
  CHECK(reduced_percent(f, rules) == Approx(42.23).margin(0.01));
  f.light_h = 9;
  CHECK(reduced_percent(f, rules) == Approx(31.67).margin(0.01));
  f.light_h = 16;  // never more than the rate
  CHECK(reduced_percent(f, rules) == Approx(42.23).margin(0.01));
  f.light_h = 3;
  CHECK(reduced_percent(f, rules) == 25);
  f.n14_c = 20;
  f.light_h = 12;
  CHECK(reduced_percent(f, rules) == 50);
  f.tropical = true;
  f.light_h = 3;
  CHECK(reduced_percent(f, rules) == 50);  // light says nothing in the tropics
}

TEST_CASE("In a warm bright season feed is full") {
  Season s;
  CHECK(s.nights(3) == 100);
  CHECK(s.feeding.cause(s.now) == Cause::bright_season);
}

TEST_CASE("Short days reduce at once, in steps of 5 %") {
  Season s;
  s.nights(5);
  const int percent = s.dull(1);
  CHECK(percent < 100);
  CHECK(percent >= 25);
  CHECK(percent <= 50);
  CHECK(percent % 5 == 0);
  CHECK(s.feeding.cause(s.now) == Cause::dull_season);
}

TEST_CASE("Between dull and bright, full stays full and reduced stays reduced") {
  Season s;
  s.nights(5);
  s.facts.light_h = 11;
  CHECK(s.nights(10) == 100);
  s.dull(5);
  s.facts.light_h = 11;
  s.facts.n14_c = 15;
  CHECK(s.nights(30) <= 50);
}

TEST_CASE("Nights under the group's number for three nights reduce, one such night does not") {
  Season s;
  s.nights(5);
  s.facts.n14_c = 12.9;
  CHECK(s.nights(2) == 100);
  CHECK(s.nights(1) <= 50);
  CHECK(s.feeding.cause(s.now) == Cause::cool_nights);
  Season other;
  other.nights(5);
  other.facts.n14_c = 12.9;
  other.nights(2);
  other.bright(1);
  other.facts.n14_c = 12.9;
  CHECK(other.nights(2) == 100);
}

TEST_CASE("Back to full: long days and seven warm nights, then at most 25 points a week") {
  Season s;
  s.facts.light_h = 8;
  s.facts.n14_c = 11;
  s.nights(30);
  CHECK(s.bright(6) <= 50);
  int before = s.feeding.percent(), raises = 0;
  Instant raised = kNever;
  for (int i = 0; i < 60; ++i) {
    const int now = s.bright(1);
    CHECK(now - before <= 25);
    if (now > before) {
      if (raised != kNever) CHECK(s.now - raised >= 7 * kDay);
      raised = s.now;
      ++raises;
    }
    before = now;
  }
  CHECK(before == 100);
  CHECK(raises >= 2);
  CHECK(s.feeding.cause(s.now) == Cause::bright_season);
}

TEST_CASE("While it rises to full the cause is the ramp") {
  Season s;
  s.dull(10);
  s.bright(2);
  CHECK(s.feeding.percent() == 75);
  CHECK(s.feeding.cause(s.now) == Cause::ramp);
}

TEST_CASE("After a hold a week at 25 %, though the season would allow more") {
  Season s;
  s.nights(10);
  s.feeding.after_hold(s.now, s.rules);
  const Instant ended = s.now;
  CHECK(s.feeding.percent() == 25);
  CHECK(s.feeding.cause(s.now) == Cause::after_hold);
  while (s.now < ended + 7 * kDay) CHECK(s.bright(1) == 25);
  CHECK(s.bright(1) == 50);
  CHECK(s.bright(20) == 100);
}

TEST_CASE("Growth started: full by the ramp, or at once when chosen at a release") {
  Season by_ramp, at_once;
  for (Season* s : {&by_ramp, &at_once}) s->dull(20);
  const int weak = by_ramp.feeding.percent();
  by_ramp.feeding.growth_started(by_ramp.now, false);
  at_once.feeding.growth_started(at_once.now, true);
  CHECK(at_once.feeding.percent() == 100);
  CHECK(by_ramp.feeding.percent() == weak);
  by_ramp.feeding.proceed(by_ramp.now, by_ramp.rules);
  CHECK(by_ramp.feeding.percent() <= weak + 25);
  // The grower's word stands against short days for 90 days.
  CHECK(by_ramp.dull(40) == 100);
  CHECK(at_once.dull(40) == 100);
  CHECK(at_once.dull(60) <= 50);
}

TEST_CASE("Full feed by the grower's word gives no season as its reason") {
  Season s;
  s.dull(20);
  s.feeding.growth_started(s.now, true);
  CHECK(s.feeding.cause(s.now) == Cause::growth_started);
  CHECK(s.dull(60) == 100);
  CHECK(s.feeding.cause(s.now) == Cause::growth_started);
  s.bright(40);  // his word has run out, and the season says the same
  CHECK(s.feeding.percent() == 100);
  CHECK(s.feeding.cause(s.now) == Cause::bright_season);
}

TEST_CASE("In the tropics temperature alone decides") {
  Season s;
  s.facts.tropical = true;
  CHECK(s.dull(30) == 100);  // short days, warm nights
  s.facts.n14_c = 12;
  CHECK(s.nights(3) <= 50);
  CHECK(s.bright(40) == 100);
}

TEST_CASE(
    "Learning: a half at most, by rate and light; 25 % in the waning half-year and the dull "
    "season") {
  Season s;
  s.facts.learning = true;
  s.facts.known_nights = 3;
  CHECK(s.nights(10) == 50);
  CHECK(s.feeding.cause(s.now) == Cause::learning);
  s.facts.n14_c = 8;
  s.facts.growing_night_c = 18;
  CHECK(s.nights(1) == 40);
  s.facts.light_h = 10.6;
  CHECK(s.nights(1) == 35);
  s.facts.light_h = 10;  // 1 January at 40° N, and the days grow already
  CHECK(s.nights(1) == 25);
  CHECK(s.feeding.cause(s.now) == Cause::learning);
  s.facts.tropical = true;  // there day length says nothing
  CHECK(s.nights(8) == 40);
  s.facts.tropical = false;
  s.facts.light_h = 14;
  s.facts.n14_c = 15;
  s.facts.growing_night_c = 16;
  s.facts.learning_gently = true;
  CHECK(s.nights(5) == 25);
  CHECK(s.feeding.cause(s.now) == Cause::learning);
  s.facts.learning = false;
  CHECK(s.bright(1) == 50);
  CHECK(s.feeding.cause(s.now) == Cause::ramp);
  CHECK(s.bright(14) == 100);

  Season autumn;
  autumn.facts.learning = autumn.facts.learning_gently = true;
  autumn.facts.known_nights = 3;
  autumn.nights(15);
  autumn.facts.learning = false;
  CHECK(autumn.dull(10) <= 50);
  CHECK(autumn.feeding.cause(autumn.now) == Cause::dull_season);
}

TEST_CASE("While learning the grower's word gives full feed by the ramp") {
  Season s;
  s.facts.learning = s.facts.learning_gently = true;
  s.facts.known_nights = 3;
  s.nights(3);
  s.feeding.growth_started(s.now, false);
  CHECK(s.nights(30) == 100);
}

TEST_CASE("What was not heard begins at 25 %, though it is known and the season allows more") {
  Season s;
  s.facts.heard = false;
  s.nights(3);
  CHECK_FALSE(s.feeding.heard());
  s.facts.heard = true;
  CHECK(s.nights(7) == 25);
  CHECK(s.nights(1) == 50);
  CHECK(s.nights(14) == 100);
}

TEST_CASE("A night that does not count leaves warm and cool nights as they were") {
  Season s;
  s.nights(5);
  s.facts.n14_c = 12;
  s.nights(2);
  s.facts.counted = false;
  CHECK(s.nights(10) == 100);
  s.facts.counted = true;
  CHECK(s.nights(1) <= 50);
}

TEST_CASE("A slow change of less than a step does not make the strength flicker") {
  Season s;
  s.dull(5);
  const int percent = s.feeding.percent();
  int changes = 0, before = percent;
  for (int i = 0; i < 40; ++i) {
    s.facts.n14_c = 13.5 + 0.2 * (i % 2 == 0 ? 1 : -1);
    changes += s.nights(1) != before;
    before = s.feeding.percent();
  }
  CHECK(changes <= 1);
}

TEST_CASE("The next rise is told, and nothing when the strength has arrived") {
  Season s;
  CHECK(s.feeding.next_rise(s.rules) == kForever);
  s.nights(5);
  s.feeding.after_hold(s.now, s.rules);
  s.bright(8);
  CHECK(s.feeding.percent() == 50);
  const Instant due = s.feeding.next_rise(s.rules);
  CHECK(due > s.now - kDay);
  CHECK(due <= s.now + 7 * kDay);
  s.feeding.proceed(due - Span(1), s.rules);
  CHECK(s.feeding.percent() == 50);
  s.feeding.proceed(due, s.rules);
  CHECK(s.feeding.percent() == 75);
}
