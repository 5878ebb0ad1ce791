// The precedence table, and the limits that it ranks.
#include "feeding/allowance.h"

#include "bench_parts.h"

using namespace plainwater;
using namespace plainwater::feeding;

TEST_CASE("Each limit outranks those under it") {
  BenchParts b;
  const Instant t = day_n(0);
  const auto cause = [&] { return b.allowance.share(t, b.settings.feeding).cause; };
  const auto blind = [&](int nights) {
    for (int i = 0; i < nights; ++i)
      b.allowance.blindness.take_night({}, true, b.allowance.season, b.questions, b.teller(t));
  };
  CHECK(b.allowance.share(t, b.settings.feeding) ==
        Share{Feeding::full, 100, Cause::bright_season});
  blind(b.settings.feeding.blind_reduced_nights);
  CHECK(b.allowance.share(t, b.settings.feeding) == Share{Feeding::reduced, 25, Cause::blind});
  b.at(t).place_or_extend(HoldEvent::of(fall_to(10), t));
  CHECK(cause() == Cause::sharp_drop);
  blind(b.settings.feeding.blind_plain_nights - b.settings.feeding.blind_reduced_nights);
  CHECK(cause() == Cause::blind);
  b.allowance.chill.take(5, true, b.teller(t));
  CHECK(cause() == Cause::chill);
  b.allowance.forbidden = true;
  CHECK(cause() == Cause::pump_untrusted);
  b.allowance.begun = false;
  CHECK(b.allowance.share(t, b.settings.feeding) ==
        Share{Feeding::plain_water, 0, Cause::learning});
}

TEST_CASE("A chill is told of when it is new, and once a week after that") {
  BenchParts b;
  Chill chill;
  CHECK(chill.due() == kForever);
  chill.take(7.5, true, b.teller(day_n(0)));
  REQUIRE(b.out.size() == 1);
  CHECK(b.out[0].kind == DecisionKind::feeding_changed);
  CHECK(chill.due() == day_n(0) + from_days(b.settings.drops.chill_days));
  for (int day = 1; day < 7; ++day) chill.take(7, true, b.teller(day_n(day)));
  CHECK(b.out.size() == 1);
  chill.take(7, true, b.teller(day_n(7)));
  REQUIRE(b.out.size() == 2);
  CHECK(b.out[1].kind == DecisionKind::notice);
  CHECK(chill.until() == day_n(7) + from_days(b.settings.drops.chill_days));
}

TEST_CASE("A chill runs out by a believed clock only") {
  BenchParts b;
  Chill chill;
  CHECK_FALSE(chill.active(day_n(0), false));
  chill.take(7.5, true, b.teller(day_n(0)));
  const Instant after = chill.until();
  CHECK_FALSE(chill.active(after, true));
  CHECK(chill.active(after, false));
  chill.end();
  CHECK_FALSE(chill.active(after, false));
}

TEST_CASE("Blind nights weaken the feed, stop it, and weaken it again after too long") {
  BenchParts b;
  Blindness blindness;
  const FeedingRules& rules = b.settings.feeding;
  const auto night = [&](bool counted, bool releasing = true) {
    NightFacts n;
    n.counted = counted;
    n.time = day_n(0);
    blindness.take_night(n, releasing, b.allowance.season, b.questions, b.teller(n.time));
  };
  for (int i = 0; i < rules.blind_reduced_nights; ++i) {
    CHECK_FALSE(blindness.weakens(rules));
    night(false);
  }
  CHECK(blindness.weakens(rules));
  CHECK_FALSE(blindness.stops(rules));
  while (blindness.nights() < rules.blind_plain_nights) night(false);
  CHECK(blindness.stops(rules));
  CHECK(b.out.size() == static_cast<std::size_t>(rules.blind_plain_nights));
  while (blindness.nights() < rules.blind_plain_nights + 27) night(false);
  CHECK(b.questions.empty());

  night(false, false);  // what raises the feed waits for a believed clock
  CHECK(blindness.stops(rules));
  night(false);
  CHECK_FALSE(blindness.stops(rules));
  CHECK(blindness.weakens(rules));
  REQUIRE(b.questions.size() == 1);

  night(true, false);
  CHECK(blindness.weakens(rules));
  night(true);
  CHECK(blindness.nights() == 0);
  CHECK(b.questions.empty());
}
