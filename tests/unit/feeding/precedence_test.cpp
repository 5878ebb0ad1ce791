// Which reason wins, and what each costs.
#include "test_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {

TestBench calm() {
  TestBench b;
  b.nights(25, 18);
  return b;
}

void chill(TestBench& b) { b.cold(8.4); }

}  // namespace

TEST_CASE("Neither an exemption nor a release with full feed beats a chill") {
  TestBench b = calm();
  b.ask(RequestKind::exempt, b.now() + 90 * kDay);
  chill(b);
  CHECK(b.share().cause == Cause::chill);
  TestBench held = calm();
  held.ask(RequestKind::hold);
  chill(held);
  const Reply reply = held.ask(RequestKind::release, {}, {}, true);
  CHECK(reply.done);
  CHECK_THAT(reply.text(), Contains("chill"));
  CHECK(held.share().feeding == Feeding::plain_water);
  CHECK(held.out.back().feeding == Feeding::plain_water);
}

TEST_CASE("A bench that settings exempt is chilled like any other and never held") {
  TestBench b;
  b.bench().exempt = true;
  b.nights(25, 18);
  b.nights(10, 8);
  CHECK(b.count(DecisionKind::hold_placed) == 0);
  CHECK(b.last(DecisionKind::notice).cause == Cause::exempt);
  chill(b);
  CHECK(b.share().cause == Cause::chill);
}

TEST_CASE("A hold goes on under a chill and after it") {
  TestBench b = calm();
  b.nights(3, 10);
  REQUIRE(b.share().cause == Cause::sharp_drop);
  chill(b);
  CHECK(b.share().cause == Cause::chill);
  CHECK_THAT(words::in_english(b.feeding->because(b.now(), b.season.moves)),
             Contains("to be decided about") && Contains("chilled below its floor as well"));
  CHECK_THAT(b.out.back().text(), Contains("plain water is in force already"));
  b.nights(3, 10);
  CHECK(b.share() == BenchFeeding::Share{Feeding::plain_water, 0, Cause::sharp_drop});
}

TEST_CASE(
    "Two blind nights: 25 %; seven: plain water; twenty-eight such days: 25 % again and a "
    "question") {
  TestBench b = calm();
  b.blind(1);
  CHECK(b.percent() == 100);
  b.blind(1);
  CHECK(b.share() == BenchFeeding::Share{Feeding::reduced, 25, Cause::blind});
  b.blind(4);
  CHECK(b.percent() == 25);
  b.blind(1);
  CHECK(b.share() == BenchFeeding::Share{Feeding::plain_water, 0, Cause::blind});
  b.blind(27);
  CHECK(b.percent() == 0);
  CHECK(b.feeding->questions(b.now()).empty());
  b.blind(1);
  CHECK(b.share() == BenchFeeding::Share{Feeding::reduced, 25, Cause::blind});
  CHECK(b.feeding->questions(b.now()).size() == 1);
  CHECK(b.count(DecisionKind::night_blind) == 7);
  b.nights(1, 18);
  CHECK(b.feeding->questions(b.now()).empty());
  CHECK(b.feeding->blind_nights() == 0);
}

TEST_CASE("After blind nights feed comes back by the ramp") {
  const int blind_nights = GENERATE(2, 6, 7, 20, 40);
  TestBench b = calm();
  b.blind(blind_nights);
  int before = b.percent();
  b.nights(1, 18);
  INFO(blind_nights);
  CHECK(b.percent() == 25);
  int lowest = before;
  for (int i = 0; i < 30; ++i) {
    before = b.percent();
    b.nights(1, 18);
    CHECK(b.percent() - before <= 25);
    lowest = std::min(lowest, before);
  }
  CHECK(b.percent() == 100);
}

TEST_CASE("One blind night alone changes nothing") {
  TestBench b = calm();
  b.blind(1);
  b.nights(1, 18);
  CHECK(b.percent() == 100);
  CHECK(b.count(DecisionKind::night_blind) == 1);
}

TEST_CASE("A hold in force goes on through blind nights, even through their question") {
  TestBench b = calm();
  b.ask(RequestKind::hold, b.now() + 60 * kDay);
  b.blind(3);
  CHECK(b.share().cause == Cause::grower);
  b.blind(5);
  CHECK(b.share() == BenchFeeding::Share{Feeding::plain_water, 0, Cause::blind});
  b.blind(30);
  CHECK(b.share() == BenchFeeding::Share{Feeding::plain_water, 0, Cause::grower});
}

TEST_CASE("A hold ends in the dark when its time is over, and the bench waits for readings") {
  TestBench b = calm();
  b.nights(3, 10);
  b.blind(50);
  CHECK_FALSE(b.feeding->hold());
  CHECK(b.share() == BenchFeeding::Share{Feeding::reduced, 25, Cause::blind});
}

TEST_CASE("What people read says why") {
  TestBench b = calm();
  CHECK_THAT(words::in_english(b.feeding->because(b.now(), b.season.moves)), Contains("Full feed"));
  b.nights(3, 10);
  CHECK_THAT(words::in_english(b.feeding->because(b.now(), b.season.moves)),
             Contains("to be decided about"));
  b.nights(12, 10);
  CHECK_THAT(words::in_english(b.feeding->because(b.now(), b.season.moves)),
             Contains("until about"));
  chill(b);
  CHECK_THAT(words::in_english(b.feeding->because(b.now(), b.season.moves)),
             Contains("chilled below its floor"));
}

TEST_CASE("While the clock is not believed neither a chill nor blindness ends in feed") {
  TestBench chilled, blind;
  for (TestBench* b : {&chilled, &blind}) b->nights(40, 18);
  chilled.cold(5, 4, Position::unknown, chilled.now() + hours(1));
  chilled.feeding->allow_release(false);
  chilled.nights(8, 18);
  CHECK(chilled.percent() == 0);
  CHECK(chilled.share().cause == Cause::chill);
  chilled.feeding->allow_release(true);
  chilled.one_night(18);
  CHECK(chilled.percent() == 100);
  blind.blind(8);
  REQUIRE(blind.percent() == 0);
  blind.feeding->allow_release(false);
  blind.nights(3, 18);
  CHECK(blind.percent() == 0);
  blind.blind(60);
  CHECK(blind.percent() == 0);
  blind.feeding->allow_release(true);
  blind.one_night(18);
  CHECK(blind.percent() == 25);
}
