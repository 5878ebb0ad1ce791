// A bench whose pump is not trusted, and questions that stand until a person has seen them.
#include "test_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {

const BenchFeeding::Share kUntrusted{Feeding::plain_water, 0, Cause::pump_untrusted};

TestBench fed_bench() {
  TestBench b;
  b.nights(25, 18);
  REQUIRE(b.percent() == 100);
  return b;
}
void forbid(TestBench& b, bool forbidden) { b.feeding->forbid(forbidden, b.now(), b.out); }

}  // namespace

TEST_CASE("A pump that is not trusted is plain water at once, and the way back is the ramp") {
  TestBench b = fed_bench();
  forbid(b, true);
  CHECK(b.share() == kUntrusted);
  const Decision& d = b.last(DecisionKind::feeding_changed);
  CHECK(d.cause == Cause::pump_untrusted);
  CHECK(d.strength_percent == 0);
  CHECK_THAT(d.text(), Contains("Plain water only: its pump disobeyed and is not trusted until "
                                "somebody has repaired it."));
  CHECK_THAT(d.evidence.json(),
             Contains("\"from\":\"full\",\"from_percent\":100,\"to_percent\":0"));
  const auto told = b.out.size();
  forbid(b, true);
  CHECK(b.out.size() == told);
  b.nights(30, 18);
  CHECK(b.share() == kUntrusted);
  forbid(b, false);
  CHECK(b.percent() == 25);
  b.nights(6, 18);
  CHECK(b.percent() == 25);
  b.nights(1, 18);
  CHECK(b.percent() == 50);
  b.nights(14, 18);
  CHECK(b.percent() == 100);
}

TEST_CASE("It comes before a chill, blind nights, a hold and the grower's word") {
  TestBench b = fed_bench();
  forbid(b, true);
  b.cold(8);
  CHECK(b.share() == kUntrusted);
  b.blind(8);
  CHECK(b.share() == kUntrusted);
  REQUIRE(b.ask(RequestKind::hold, b.now() + 20 * kDay).done);
  CHECK(b.share() == kUntrusted);
  CHECK(b.feeding->hold());
  b.ask(RequestKind::growth_started);
  b.ask(RequestKind::exempt, b.now() + 20 * kDay);
  CHECK(b.share() == kUntrusted);
  forbid(b, false);
  CHECK(b.share().cause == Cause::blind);
  b.one_night(18);
  CHECK(b.share().cause == Cause::grower);
  REQUIRE(b.ask(RequestKind::release, {}, {}, true).done);
  CHECK(b.percent() == 100);
}

TEST_CASE("What ends meanwhile tells of the plain water that goes on") {
  TestBench b = fed_bench();
  REQUIRE(b.ask(RequestKind::hold, b.now() + 5 * kDay).done);
  forbid(b, true);
  SECTION("a hold by its time") {
    b.nights(6, 18);
    CHECK(b.last(DecisionKind::hold_ended).text() ==
          "The hold is over after 5 days, but plain water goes on: its pump disobeyed and is not "
          "trusted until somebody has repaired it.");
    CHECK(b.last(DecisionKind::hold_ended).feeding == Feeding::plain_water);
  }
  SECTION("a hold by the grower's word") {
    const Reply reply = b.ask(RequestKind::release);
    CHECK_THAT(reply.text(),
               Contains("Ada released the hold, but plain water goes on: its pump disobeyed"));
  }
  SECTION("a chill, before which nothing is hidden") {
    b.cold(8);
    b.nights(6, 18);
    CHECK(b.share() == kUntrusted);
  }
  forbid(b, false);
  CHECK(b.percent() == 25);
}

TEST_CASE("A hold that a chill outlasts is not told as feed that begins") {
  TestBench b = fed_bench();
  REQUIRE(b.ask(RequestKind::hold, b.now() + 2 * kDay).done);
  b.nights(1, 18);
  b.cold(8);
  b.nights(2, 18);
  CHECK_THAT(b.last(DecisionKind::hold_ended).text(),
             Contains("plain water goes on: the air fell below the chill floor"));
}

TEST_CASE("A withdrawn hold behind a pump that is not trusted gives nothing back yet") {
  TestBench b = fed_bench();
  b.nights(5, 11);
  REQUIRE(b.count(DecisionKind::hold_placed) == 1);
  forbid(b, true);
  b.nights(16, 18);
  REQUIRE(b.count(DecisionKind::hold_withdrawn) == 1);
  CHECK_THAT(b.last(DecisionKind::hold_withdrawn).text(),
             Contains("But plain water stays for now: its pump disobeyed"));
  CHECK(b.share() == kUntrusted);
  forbid(b, false);
  CHECK(b.percent() == 25);
}

TEST_CASE("A question stands until it is acknowledged, once for each cause") {
  TestBench b = fed_bench();
  b.feeding->ask(b.out, b.now(), Cause::shared_pump, words::as_it_is("After 28 days?"));
  b.feeding->ask(b.out, b.now(), Cause::shared_pump, words::as_it_is("After 56 days?"));
  REQUIRE(b.feeding->questions(b.now()).size() == 1);
  CHECK(b.feeding->questions(b.now())[0].text() == "After 56 days?");
  CHECK(b.out.back().kind == DecisionKind::notice);
  CHECK(b.out.back().strength_percent == 100);
  REQUIRE(b.ask(RequestKind::acknowledge).done);
  CHECK(b.feeding->questions(b.now()).empty());
  CHECK(b.ask(RequestKind::acknowledge).problem == "nothing-to-acknowledge");
}
