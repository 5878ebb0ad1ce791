// Benches that go out and in by turns.
#include <catch2/catch.hpp>

#include "carried_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;

TEST_CASE("Shuttling places one hold when it starts and one when it ends") {
  TestBench b = fed();
  const auto day = [&](double night_c, double day_c) {
    b.carry(kOut, 3);
    b.carry(kIn, 10);
    b.day_c = day_c;
    b.one_night(night_c);
  };
  day(18, 14);
  CHECK(holds(b) == 1);
  day(18, 14);
  CHECK(holds(b) == 1);
  CHECK(b.season.moves.pattern() == season::Pattern::shuttling);
  CHECK(b.share().cause == Cause::shuttling);
  for (int i = 0; i < 45; ++i) day(18, 14);
  CHECK(holds(b) == 1);
  CHECK(with_cause(b, DecisionKind::hold_confirmed, Cause::shuttling) == 1);
  CHECK(b.count(DecisionKind::hold_ended) == 1);
  CHECK_FALSE(b.feeding->hold());
  // It rests outdoors, where nights are cold.
  b.carry(kOut, 3);
  b.day_c = 14;
  b.nights(15, 10);
  CHECK(b.season.moves.pattern() == season::Pattern::settled);
  CHECK(holds(b) == 2);
  CHECK(b.last(DecisionKind::hold_placed).cause == Cause::shuttling);
  CHECK(with_cause(b, DecisionKind::hold_confirmed, Cause::shuttling) == 2);
}

TEST_CASE(
    "Shuttling that changed neither nights nor days is withdrawn, and its end without change "
    "places nothing") {
  TestBench b = fed();
  for (int i = 0; i < 10; ++i) {
    b.carry(kOut, 3);
    b.carry(kIn, 10);
    b.one_night(18);
  }
  CHECK(holds(b) == 1);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(b.percent() == 100);
  b.nights(10, 18);
  CHECK(b.season.moves.pattern() == season::Pattern::settled);
  CHECK(holds(b) == 1);
}

TEST_CASE("Shuttling that begins weeks after a confirmed move is judged of its own") {
  TestBench b = fed(24);
  b.carry(kOut);
  b.nights(20, 18);
  REQUIRE(b.count(DecisionKind::hold_confirmed) == 1);
  const Instant before = b.feeding->hold()->planned_end;
  for (int i = 0; i < 6; ++i) {
    b.carry(kIn, 3);
    b.carry(kOut, 10);
    b.day_c = 17;
    b.one_night(18);
  }
  CHECK(with_cause(b, DecisionKind::hold_extended, Cause::shuttling) == 1);
  CHECK(b.feeding->hold()->planned_end > before);
  CHECK(b.count(DecisionKind::hold_placed) == 1);
}

TEST_CASE("Shuttling that ends before its start could be judged leaves no hold unproven") {
  TestBench b = fed();
  for (int i = 0; i < 2; ++i) {
    b.carry(kOut, 3);
    b.carry(kIn, 10);
    b.one_night(0, false);
  }
  REQUIRE(b.share().cause == Cause::shuttling);
  b.blind(3);
  b.nights(8, 18);
  REQUIRE(b.season.moves.pattern() == season::Pattern::settled);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 1);
  CHECK_FALSE(b.feeding->hold());
}

TEST_CASE("A bench of which neither direction asks for a hold is not held for going both ways") {
  TestBench b = fed();
  b.settings->moves.moved_outdoors = b.settings->moves.moved_indoors = MoveAnswer::none;
  for (int i = 0; i < 8; ++i) {
    b.carry(kOut, 3);
    b.carry(kIn, 10);
    b.day_c = 12;
    b.one_night(18);
  }
  CHECK(holds(b) == 0);
  CHECK(b.percent() == 100);
}
