// Holds beside each other: a shorter one is kept, counts when the longer one ends sooner, and has
// its own words then.
#include "test_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {

TestBench calm_now() {
  TestBench b;
  b.nights(25, 18);
  REQUIRE_FALSE(b.feeding->hold());
  b.out.clear();
  return b;
}

/// Its nights fell by 8 °C, and it is on a provisional hold.
TestBench fallen() {
  TestBench b;
  b.nights(25, 18);
  b.nights(3, 10);
  REQUIRE(b.feeding->hold());
  b.out.clear();
  return b;
}

std::string because(const TestBench& b) {
  return words::in_english(b.feeding->because(b.now(), b.season.moves));
}

words::Value day_of(Instant t, const TestBench& b) { return words::day(t, b.now()); }
std::string in_words(Instant t, const TestBench& b) {
  return words::in_english(words::say("as-it-is", {{"text", day_of(t, b)}}));
}

}  // namespace

TEST_CASE("A shorter hold than the one in force is kept, and the answer says which is longer") {
  TestBench b = calm_now();
  const Instant until = b.now() + 40 * kDay, sooner = b.now() + 10 * kDay;
  REQUIRE(b.ask(RequestKind::hold, until).done);
  const Reply reply = b.ask(RequestKind::hold, sooner);
  CHECK(reply.done);
  CHECK(reply.text() ==
        "A longer hold is in force until " + in_words(until, b) + ". The one until " +
            in_words(sooner, b) +
            " that Ada asked for is kept, and counts if the longer one ends sooner.");
  CHECK(b.out.back().kind == DecisionKind::notice);
  CHECK(b.out.back().text() == reply.text());
  CHECK(b.feeding->hold()->planned_end == until);
  CHECK_THAT(because(b),
             Contains("If that ends sooner, plain water goes on until " + in_words(sooner, b)));
  SECTION("its end changes nothing while the longer one lasts") {
    b.nights(11, 18);
    CHECK(b.feeding->hold()->planned_end == until);
    CHECK_THAT(because(b), !Contains("sooner"));
    REQUIRE(b.ask(RequestKind::release).done);
    CHECK_FALSE(b.feeding->hold());
  }
  SECTION("a release of the longer one names both, and a second one ends it too") {
    b.out.clear();
    const Reply released = b.ask(RequestKind::release);
    CHECK(released.text() == "Ada released the hold that was to last until " + in_words(until, b) +
                                 ", but another one goes on. The hold that Ada asked for goes on: "
                                 "plain water until " +
                                 in_words(sooner, b) +
                                 ". To end that as well, `release` once more.");
    REQUIRE(b.feeding->hold());
    CHECK(b.feeding->hold()->planned_end == sooner);
    CHECK(b.count(DecisionKind::hold_ended) == 0);
    CHECK(b.share().feeding == Feeding::plain_water);
    CHECK(b.ask(RequestKind::release).done);
    CHECK_FALSE(b.feeding->hold());
    CHECK(b.count(DecisionKind::hold_ended) == 1);
  }
  SECTION("after the release it ends on its day") {
    REQUIRE(b.ask(RequestKind::release).done);
    b.nights(9, 18);
    CHECK(b.feeding->hold());
    b.nights(2, 18);
    CHECK_FALSE(b.feeding->hold());
    CHECK(b.last(DecisionKind::hold_ended).time == sooner);
  }
}

TEST_CASE("A shorter hold beside a detected one is in force when the nights recover") {
  TestBench b = fallen();
  const Instant until = b.now() + 20 * kDay, detected = b.feeding->hold()->planned_end;
  REQUIRE(until < detected);
  const Reply reply = b.ask(RequestKind::hold, until);
  CHECK(reply.done);
  CHECK_THAT(reply.text(),
             Contains("A longer hold is in force until about " + in_words(detected, b)) &&
                 !Contains("asked for by"));
  CHECK(b.feeding->hold()->cause == Cause::sharp_drop);
  CHECK(b.feeding->hold()->provisional);
  b.out.clear();
  b.nights(15, 18);  // the fall did not last
  REQUIRE(b.feeding->hold());
  CHECK(b.feeding->hold()->cause == Cause::grower);
  CHECK(b.feeding->hold()->planned_end == until);
  CHECK_FALSE(b.feeding->hold()->provisional);
  CHECK(b.share() == BenchFeeding::Share{Feeding::plain_water, 0, Cause::grower});
  CHECK(because(b) == "Plain water until " + in_words(until, b) + ": the grower asked for it.");
  CHECK(b.count(DecisionKind::hold_withdrawn) == 0);
  CHECK_THAT(
      b.last(DecisionKind::notice).text(),
      Contains("The hold that Ada asked for goes on: plain water until " + in_words(until, b)));
  CHECK(b.feeding->plain_days_in_year(b.now()) > 5);  // those until the nights had recovered
  const double counted = b.feeding->plain_days_in_year(b.now());
  b.nights(6, 18);
  CHECK_FALSE(b.feeding->hold());
  CHECK(b.last(DecisionKind::hold_ended).time == until);
  CHECK(b.feeding->plain_days_in_year(b.now()) == Approx(counted));
}

TEST_CASE("A release ends what was detected and leaves what a person asked for, and the reverse") {
  TestBench b = fallen();
  const Instant detected = b.feeding->hold()->planned_end, now = b.now();
  SECTION("detected is longer") {
    REQUIRE(b.ask(RequestKind::hold, now + 10 * kDay).done);
    const Reply reply = b.ask(RequestKind::release);
    CHECK_THAT(reply.text(), Contains("until about " + in_words(detected, b) + ", but another") &&
                                 Contains("plain water until " + in_words(now + 10 * kDay, b)));
    CHECK(b.feeding->hold()->planned_end == now + 10 * kDay);
    CHECK(b.feeding->hold()->cause == Cause::grower);
    b.nights(40, 10);  // the plants count as used to the fall: it is not answered a second time
    CHECK_FALSE(b.feeding->hold());
    CHECK(b.count(DecisionKind::hold_placed) == 0);
  }
  SECTION("asked is longer") {
    REQUIRE(b.ask(RequestKind::hold, detected + 300 * kDay).done);
    CHECK(b.feeding->hold()->cause == Cause::grower);
    const Reply reply = b.ask(RequestKind::release);
    CHECK_THAT(reply.text(), Contains("Plain water: the nights turned sharply cooler"));
    CHECK(b.feeding->hold()->planned_end == detected);
    CHECK(b.feeding->hold()->cause == Cause::sharp_drop);
    CHECK(b.feeding->hold()->provisional);
    b.nights(15, 18);
    CHECK_FALSE(b.feeding->hold());
    CHECK(b.percent() == 100);  // withdrawn, as it would have been
  }
}

TEST_CASE("A fall that outlasts a person's hold names it, and the hold is kept beside it") {
  TestBench b = calm_now();
  const Instant until = b.now() + 20 * kDay;
  REQUIRE(b.ask(RequestKind::hold, until).done);
  b.nights(3, 10);
  REQUIRE(b.feeding->hold()->planned_end > until);
  CHECK(b.feeding->hold()->cause == Cause::sharp_drop);
  CHECK(b.feeding->hold()->id == 1);
  CHECK_THAT(because(b),
             Contains("the nights turned sharply cooler; to be decided about") &&
                 Contains("If that ends sooner, plain water goes on until " + in_words(until, b)));
  // Its nights are counted from the fall, not from the person's word.
  CHECK(b.feeding->hold()->judged_from > b.feeding->hold()->placed);
}

TEST_CASE("A fall that could not be decided on its day names no day that is over") {
  TestBench b = fallen();
  CHECK_THAT(because(b), Contains("to be decided about"));
  for (int night = 0; night < 12; ++night) b.one_night(10, night % 2 == 0);
  REQUIRE(b.feeding->hold()->provisional);
  CHECK_THAT(because(b), Contains("the nights turned sharply cooler; still to be decided"));
}

TEST_CASE("An exemption ends what was detected, and what a person asked for goes on") {
  TestBench b = fallen();
  const Instant until = b.now() + 10 * kDay;
  REQUIRE(b.ask(RequestKind::hold, until).done);
  const Reply reply = b.ask(RequestKind::exempt, b.now() + 60 * kDay);
  CHECK_THAT(reply.text(), Contains("The hold that Ada asked for goes on: plain water until " +
                                    in_words(until, b)));
  REQUIRE(b.feeding->hold());
  CHECK(b.feeding->hold()->planned_end == until);
  CHECK(b.feeding->hold()->cause == Cause::grower);
}

TEST_CASE("A move that changed nothing leaves a person's hold in force") {
  TestBench b = calm_now();
  b.carry(Position::outdoors);
  REQUIRE(b.feeding->hold());
  const Instant until = b.now() + 20 * kDay;
  REQUIRE(b.ask(RequestKind::hold, until).done);
  b.nights(12, 18);
  REQUIRE(b.feeding->hold());
  CHECK(b.feeding->hold()->cause == Cause::grower);
  CHECK(b.feeding->hold()->planned_end == until);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 0);
  CHECK_THAT(b.last(DecisionKind::notice).text(),
             Contains("the hold ends " + in_words(until, b) + ", as without it"));
}

TEST_CASE("An announced hold that is shorter than the one in force is kept on its day") {
  TestBench b = calm_now();
  const Instant until = b.now() + 40 * kDay, sooner = b.now() + 15 * kDay;
  REQUIRE(b.ask(RequestKind::hold, until).done);
  REQUIRE(b.ask(RequestKind::hold, sooner, b.now() + 5 * kDay).done);
  b.nights(6, 18);
  CHECK_THAT(b.last(DecisionKind::notice).text(), Contains("The hold until " + in_words(sooner, b) +
                                                           " that Ada announced has begun. A "
                                                           "longer one is in force until " +
                                                           in_words(until, b)));
  CHECK(b.feeding->hold()->cause == Cause::grower);
  REQUIRE(b.ask(RequestKind::release).done);
  REQUIRE(b.feeding->hold());
  CHECK(b.feeding->hold()->cause == Cause::announced);
  CHECK(b.feeding->hold()->planned_end == sooner);
}

TEST_CASE("An extension moves the end of the person's hold; no second hold is left behind") {
  TestBench b = calm_now();
  REQUIRE(b.ask(RequestKind::hold, b.now() + 10 * kDay).done);
  for (int more = 11; more < 60; ++more)
    REQUIRE(b.ask(RequestKind::extend, b.now() + more * kDay).done);
  CHECK(b.feeding->hold()->planned_end == b.now() + 59 * kDay);
  REQUIRE(b.ask(RequestKind::release).done);
  CHECK_FALSE(b.feeding->hold());
}

TEST_CASE("As many holds are kept as may be, and none that lasts longer is lost") {
  TestBench b = calm_now();
  const auto until = [&](int days) { return b.now() + days * kDay; };
  for (int i = 0; i < 12; ++i) REQUIRE(b.ask(RequestKind::hold, until(100 - i)).done);
  CHECK(b.ask(RequestKind::hold, until(95)).done);  // is kept already
  const std::size_t told = b.out.size();
  const Reply full = b.ask(RequestKind::hold, until(50));
  CHECK(full.problem == "too-many-holds");
  CHECK(b.out.size() == told);
  REQUIRE(b.ask(RequestKind::hold, until(200)).done);  // in the place of the one of 100 days
  CHECK(b.feeding->hold()->planned_end == until(200));
  std::vector<Instant> ends;
  while (b.feeding->hold()) {
    ends.push_back(b.feeding->hold()->planned_end);
    REQUIRE(b.ask(RequestKind::release).done);
  }
  REQUIRE(ends.size() == 12);
  CHECK(ends.front() == until(200));
  for (int i = 1; i < 12; ++i) CHECK(ends[static_cast<std::size_t>(i)] == until(100 - i));
}

TEST_CASE("Nobody is asked whether a hold is still wanted that is not the longest") {
  TestBench b = fallen();
  const Instant detected = b.feeding->hold()->planned_end;
  REQUIRE(b.ask(RequestKind::hold, detected - kDay).done);
  b.nights(static_cast<int>(days_of(detected - b.now())) - 1, 10);
  REQUIRE(b.feeding->hold());
  CHECK(b.feeding->questions(b.now()).empty());
}

TEST_CASE("An end more than half a year away is said with its year, in every sentence") {
  TestBench b = calm_now();
  const Instant until = b.now() + 300 * kDay;
  const std::string year = format_date(until).substr(0, 4);
  CHECK_THAT(b.ask(RequestKind::hold, until).text(), Contains(year));
  CHECK_THAT(because(b), Contains(year));
  CHECK_THAT(b.ask(RequestKind::hold, b.now() + 10 * kDay).text(), Contains(year));
  CHECK_THAT(b.ask(RequestKind::release).text(), Contains(year));
  CHECK_THAT(because(b), !Contains(year));
  CHECK_THAT(b.ask(RequestKind::hold, b.now() + 320 * kDay, b.now() + 310 * kDay).text(),
             Contains(year));
}
