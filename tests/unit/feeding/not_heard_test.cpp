// A bench of which nothing is known, and one of which little is.
#include "test_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {

std::string because(const TestBench& b) {
  return words::in_english(b.feeding->because(b.now(), b.season.moves));
}

const BenchFeeding::Share kNotHeard{Feeding::plain_water, 0, Cause::not_heard};

}  // namespace

TEST_CASE("A bench gets plain water until its first counted night, in any season") {
  const bool days_shorten = GENERATE(true, false);
  TestBench b;
  b.days_shorten = days_shorten;
  CHECK(b.share() == kNotHeard);
  CHECK(because(b) == "Plain water only: no night of this bench has been recorded yet.");
  CHECK(b.out.front().feeding == Feeding::plain_water);
  b.blind(60);  // nothing is known of it, so it is not that too little is
  CHECK(b.share() == kNotHeard);
  b.one_night(18);
  CHECK(b.share() == BenchFeeding::Share{Feeding::reduced, 25, Cause::learning});
}

TEST_CASE("While it is learnt the sentence says what is known and what is not") {
  TestBench b;
  b.one_night(17.2);
  CHECK(
      because(b) ==
      "Weak feed at 25 %: 1 night is known so far, at 17.2 °C; what the bench is used to is known "
      "after 14 more.");
  b.one_night(17.2);
  b.light_h = 9;
  b.one_night(17.2);
  CHECK_THAT(because(b), Contains("3 nights are known so far") &&
                             Contains("growth is slow when days are short or shortening"));
  b.light_h = 13;
  b.nights(8, 18);
  CHECK(b.percent() == 50);
  b.nights(30, 18);
  CHECK(b.percent() == 100);
}

TEST_CASE(
    "The grower's word does not end that nothing was heard, and counts once a night is known") {
  TestBench b;
  CHECK(b.ask(RequestKind::growth_started).done);
  CHECK(b.share() == kNotHeard);
  b.nights(1, 18);
  CHECK(b.percent() == 25);
  b.nights(22, 18);
  CHECK(b.percent() == 100);
}

TEST_CASE("Nights older than a fortnight do not count as heard, though learning is over") {
  TestBench b;
  b.nights(40, 18);
  b.blind(14);
  CHECK(b.share().cause == Cause::blind);
  b.blind(1);
  CHECK(b.share() == kNotHeard);
  CHECK(because(b) ==
        "Plain water only: no night of the last fortnight is known; 40 older ones are.");
  b.nights(7, 18);
  CHECK(b.share() == BenchFeeding::Share{Feeding::reduced, 25, Cause::ramp});
  b.nights(15, 18);
  CHECK(b.percent() == 100);
}
