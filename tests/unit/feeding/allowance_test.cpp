// The precedence table, and the limits that it ranks.
#include "feeding/allowance.h"

#include "bench_parts.h"

using namespace plainwater;
using namespace plainwater::feeding;

TEST_CASE("A bench that was not heard comes after a chill and before blind nights") {
  BenchParts b;
  const Instant t = day_n(0);
  SeasonFacts silent;
  silent.heard = false;
  b.allowance.season.take_night(silent, t, b.settings.feeding);
  CHECK(b.allowance.share(t, b.settings.feeding) ==
        Share{Feeding::plain_water, 0, Cause::not_heard});
  b.allowance.chill.take(cold_until(t, 5), Position::unknown, true, b.teller(t));
  CHECK(b.allowance.share(t, b.settings.feeding).cause == Cause::chill);
}

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
  b.allowance.chill.take(cold_until(t, 5), Position::unknown, true, b.teller(t));
  CHECK(cause() == Cause::chill);
  b.allowance.forbidden = true;
  CHECK(cause() == Cause::pump_untrusted);
  b.allowance.begun = false;
  CHECK(b.allowance.share(t, b.settings.feeding) ==
        Share{Feeding::plain_water, 0, Cause::learning});
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
