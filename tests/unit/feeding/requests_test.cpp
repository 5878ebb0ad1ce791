// The grower's word: each request, each refusal.
#include "test_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;

namespace {

/// A bench that learnt its nights, then fell by 8 °C and is on a provisional hold.
TestBench held() {
  TestBench b;
  b.nights(25, 18);
  b.nights(3, 10);
  REQUIRE(b.feeding->hold());
  return b;
}

TestBench calm_bench() {
  TestBench b;
  b.nights(25, 18);
  REQUIRE_FALSE(b.feeding->hold());
  return b;
}

void check_refused(TestBench& b, const Reply& reply, const std::string& problem) {
  CHECK_FALSE(reply.done);
  CHECK(reply.problem == problem);
  CHECK_FALSE(reply.text().empty());
  CHECK(b.out.empty());
}

}  // namespace

TEST_CASE("A hold begins at once, for 28 days unless told otherwise") {
  TestBench b = calm_bench();
  const Reply reply = b.ask(RequestKind::hold);
  CHECK(reply.done);
  CHECK(b.share() == BenchFeeding::Share{Feeding::plain_water, 0, Cause::grower});
  REQUIRE(b.feeding->hold());
  CHECK(b.feeding->hold()->planned_end == b.now() + 28 * kDay);
  CHECK_FALSE(b.feeding->hold()->provisional);
  const Decision& d = b.out.back();
  CHECK(d.kind == DecisionKind::hold_placed);
  CHECK(d.cause == Cause::grower);
  CHECK(d.feeding == Feeding::plain_water);
  CHECK(d.text() == reply.text());
  CHECK(d.evidence.json().find("\"who\":\"Ada\"") != std::string::npos);
  b.nights(27, 18);
  CHECK(b.feeding->hold());
  b.nights(1, 18);
  CHECK_FALSE(b.feeding->hold());
  CHECK(b.percent() == 25);
}

TEST_CASE("A hold in the past, or too far ahead, is refused") {
  TestBench b = calm_bench();
  b.out.clear();
  check_refused(b, b.ask(RequestKind::hold, b.now()), "until-in-the-past");
  check_refused(b, b.ask(RequestKind::hold, b.now() + kDay, b.now() + 2 * kDay),
                "until-in-the-past");
  check_refused(b, b.ask(RequestKind::hold, {}, b.now() + 367 * kDay), "too-far-ahead");
  check_refused(b, b.ask(RequestKind::hold, b.now() + 733 * kDay), "too-far-ahead");
  CHECK(b.percent() == 100);
}

TEST_CASE("A hold may be announced; it begins on its day") {
  TestBench b = calm_bench();
  const Instant from = b.now() + 5 * kDay + hours(3), until = b.now() + 20 * kDay;
  CHECK(b.ask(RequestKind::hold, until, from).done);
  CHECK(b.out.back().kind == DecisionKind::notice);
  CHECK(b.out.back().cause == Cause::announced);
  CHECK(b.percent() == 100);
  b.nights(5, 18);
  CHECK(b.percent() == 100);
  b.nights(1, 18);
  CHECK(b.share().cause == Cause::announced);
  CHECK(b.last(DecisionKind::hold_placed).time == from);
  b.nights(20, 18);
  CHECK_FALSE(b.feeding->hold());
  CHECK(b.last(DecisionKind::hold_ended).time == until);
}

TEST_CASE("Two announced holds begin in the order of their days") {
  TestBench b = calm_bench();
  b.ask(RequestKind::hold, b.now() + 60 * kDay, b.now() + 50 * kDay);
  b.ask(RequestKind::hold, b.now() + 20 * kDay, b.now() + 10 * kDay);
  b.nights(70, 18);
  CHECK(b.count(DecisionKind::hold_placed) == 2);
  CHECK(b.count(DecisionKind::hold_ended) == 2);
}

TEST_CASE("A hold asked for during a hold lengthens it") {
  TestBench b = held();
  CHECK(b.ask(RequestKind::hold, b.now() + 80 * kDay).done);
  CHECK(b.out.back().kind == DecisionKind::hold_extended);
  CHECK(b.feeding->hold()->planned_end == b.now() + 80 * kDay);
  CHECK(b.feeding->hold()->id == 1);
}

TEST_CASE("Release: weak feed, or full at once when chosen") {
  TestBench weak = held(), full = held();
  CHECK(weak.ask(RequestKind::release).done);
  CHECK(weak.share() == BenchFeeding::Share{Feeding::reduced, 25, Cause::after_hold});
  CHECK(weak.out.back().kind == DecisionKind::hold_ended);
  CHECK(weak.out.back().strength_percent == 25);
  CHECK(full.ask(RequestKind::release, {}, {}, true).done);
  CHECK(full.share().feeding == Feeding::full);
  CHECK(full.percent() == 100);
  // The plants count as used to the fall: it is not answered a second time.
  weak.nights(40, 10);
  CHECK(weak.count(DecisionKind::hold_placed) == 1);
  weak.out.clear();
  check_refused(weak, weak.ask(RequestKind::release), "nothing-to-release");
}

TEST_CASE("Extend") {
  TestBench b = held();
  const Instant until = b.feeding->hold()->planned_end + 5 * kDay;
  CHECK(b.ask(RequestKind::extend, until).done);
  CHECK(b.feeding->hold()->planned_end == until);
  CHECK(b.out.back().kind == DecisionKind::hold_extended);
  b.out.clear();
  check_refused(b, b.ask(RequestKind::extend), "until-missing");
  check_refused(b, b.ask(RequestKind::extend, until), "already-longer");
  check_refused(b, b.ask(RequestKind::extend, b.now() + 800 * kDay), "too-far-ahead");
  TestBench free = calm_bench();
  free.out.clear();
  check_refused(free, free.ask(RequestKind::extend, free.now() + kDay), "nothing-to-extend");
}

TEST_CASE("Exempt: the detected hold ends, no other comes, and the end of it is told") {
  TestBench b = held();
  CHECK(b.ask(RequestKind::exempt, b.now() + 60 * kDay).done);
  CHECK_FALSE(b.feeding->hold());
  CHECK(b.percent() == 25);
  CHECK(b.last(DecisionKind::hold_ended).cause == Cause::exempt);
  b.nights(20, 16);
  b.nights(10, 9);
  CHECK(b.count(DecisionKind::hold_placed) == 1);
  const auto told = [&](std::string_view words) {
    return std::any_of(b.out.begin(), b.out.end(), [&](const Decision& d) {
      return d.cause == Cause::exempt && d.text().find(words) != std::string::npos;
    });
  };
  CHECK(told("no hold: the bench is exempt"));
  CHECK_FALSE(told("exemption has ended"));
  b.nights(40, 14);
  CHECK(told("exemption has ended"));
  b.nights(6, 7);
  CHECK(b.count(DecisionKind::hold_placed) == 2);
}

TEST_CASE("Exempt needs an end, within a year") {
  TestBench b = calm_bench();
  b.out.clear();
  check_refused(b, b.ask(RequestKind::exempt), "until-missing");
  check_refused(b, b.ask(RequestKind::exempt, b.now()), "until-in-the-past");
  check_refused(b, b.ask(RequestKind::exempt, b.now() + 367 * kDay), "too-far-ahead");
}

TEST_CASE("An exemption leaves the grower's own hold alone") {
  TestBench b = calm_bench();
  b.ask(RequestKind::hold, b.now() + 30 * kDay);
  CHECK(b.ask(RequestKind::exempt, b.now() + 60 * kDay).done);
  CHECK(b.feeding->hold());
}

TEST_CASE("Growth started: full by the ramp; not during a hold") {
  TestBench b = calm_bench();
  b.light_h = 8;
  b.nights(10, 14);
  REQUIRE(b.percent() <= 50);
  const int weak = b.percent();
  CHECK(b.ask(RequestKind::growth_started).done);
  CHECK(b.percent() <= weak + 25);
  b.nights(21, 14);
  CHECK(b.percent() == 100);
  TestBench on_hold = held();
  on_hold.out.clear();
  check_refused(on_hold, on_hold.ask(RequestKind::growth_started), "hold-in-force");
}

TEST_CASE("Acknowledge closes what was asked") {
  TestBench b = calm_bench();
  b.out.clear();
  check_refused(b, b.ask(RequestKind::acknowledge), "nothing-to-acknowledge");
  b.ask(RequestKind::hold, b.now() + 100 * kDay);
  b.nights(31, 18);
  REQUIRE(b.feeding->questions(b.now()).size() == 1);  // the monthly question
  CHECK(b.feeding->questions(b.now())[0].text().find("Do you still want it?") != std::string::npos);
  CHECK(b.ask(RequestKind::acknowledge).done);
  CHECK(b.feeding->questions(b.now()).empty());
  b.nights(30, 18);
  CHECK(b.feeding->questions(b.now()).size() == 1);
}

TEST_CASE("Arm and disarm are no bench's requests") {
  TestBench b = calm_bench();
  b.out.clear();
  check_refused(b, b.ask(RequestKind::arm), "not-a-bench-request");
  check_refused(b, b.ask(RequestKind::disarm), "not-a-bench-request");
}
