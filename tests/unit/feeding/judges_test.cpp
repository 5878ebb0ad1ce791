// The judges of moves and of drops, without a bench's feeding around them.
#include "bench_parts.h"
#include "feeding/drop_judge.h"
#include "feeding/move_verdict.h"

using namespace plainwater;
using namespace plainwater::feeding;

namespace {

constexpr Position kOutdoors = Position::outdoors;

/// Nights and days of before and after a move.
season::ClimateChange from_to(double before_c, double after_c) {
  season::ClimateChange change;
  change.night_before_c = before_c;
  change.night_after_c = after_c;
  change.day_before_c = before_c + 6;
  change.day_after_c = after_c + 6;
  change.nights_after = 3;
  return change;
}

PendingMove carried_out(int day, bool placed) {
  return {Cause::moved_outdoors, kOutdoors, day_n(day), day_n(day), placed};
}

}  // namespace

TEST_CASE("A move is answered with plain water until it is judged, and waits") {
  BenchParts b;
  MoveJudge moves;
  BenchMoment m = b.at(day_n(0));
  moves.take(season::Carried::once, kOutdoors, day_n(0) - hours(1), m);
  CHECK(moves.pending());
  REQUIRE(b.allowance.holds.in_force());
  CHECK(b.allowance.holds.hold()->cause == Cause::moved_outdoors);
  REQUIRE(b.out.size() == 1);
  CHECK(b.out[0].kind == DecisionKind::hold_placed);
  CHECK(b.out[0].since == day_n(0) - hours(1));

  moves.take(season::Carried::undone, Position::indoors, day_n(0), m);
  CHECK_FALSE(moves.pending());
  CHECK_FALSE(b.allowance.holds.in_force());
  CHECK(b.out.back().kind == DecisionKind::hold_withdrawn);
}

TEST_CASE("While nothing is released a move that was none waits too") {
  BenchParts b;
  b.allowance.releasing = false;
  MoveJudge moves;
  BenchMoment m = b.at(day_n(0));
  moves.take(season::Carried::once, kOutdoors, day_n(0), m);
  moves.take(season::Carried::undone, Position::indoors, day_n(0), m);
  CHECK(moves.pending());
  CHECK(b.allowance.holds.in_force());
}

TEST_CASE("A pending move keeps a hold of before from ending, once") {
  BenchParts b;
  MoveJudge moves;
  b.at(day_n(0)).place_or_extend(HoldEvent::of(fall_to(10), day_n(0)));
  BenchMoment seen = b.at(day_n(20));
  moves.take(season::Carried::once, kOutdoors, day_n(20), seen);
  CHECK(b.out.size() == 1);  // it gets plain water anyway
  BenchMoment due = b.at(b.allowance.holds.hold()->planned_end(b.settings.drops));
  moves.end_hold_by_time(due);
  CHECK(b.allowance.holds.in_force());
  CHECK(b.out.back().kind == DecisionKind::hold_extended);
  moves.end_hold_by_time(due);
  CHECK_FALSE(b.allowance.holds.in_force());
  CHECK_FALSE(moves.pending());  // its event went with the hold
}

TEST_CASE("The grower's release answers the move too") {
  BenchParts b;
  MoveJudge moves;
  BenchMoment m = b.at(day_n(0));
  moves.take(season::Carried::once, kOutdoors, day_n(0), m);
  moves.hold_released(day_n(1));
  CHECK_FALSE(moves.pending());
}

TEST_CASE("Cooler nights confirm a move's hold, the same climate withdraws it") {
  const double much = Settings{}.moves.change_c + 1;
  for (const bool cooler : {true, false}) {
    CAPTURE(cooler);
    BenchParts b;
    BenchMoment m = b.at(day_n(4));
    b.at(day_n(0)).place_or_extend(HoldEvent::of_move(Cause::moved_outdoors, day_n(0), day_n(0)));
    answer_move(carried_out(0, true), from_to(16, cooler ? 16 - much : 16), {}, m);
    CHECK(b.out.back().kind ==
          (cooler ? DecisionKind::hold_confirmed : DecisionKind::hold_withdrawn));
    CHECK(b.allowance.holds.in_force() == cooler);
  }
}

TEST_CASE("A move to warmth ends its own hold with weak feed") {
  BenchParts b;
  BenchMoment m = b.at(day_n(4));
  b.at(day_n(0)).place_or_extend(HoldEvent::of_move(Cause::moved_outdoors, day_n(0), day_n(0)));
  const PendingMove move = carried_out(0, true);
  answer_move(move, from_to(10, 10 + b.settings.moves.change_c + 1), {}, m);
  CHECK_FALSE(b.allowance.holds.in_force());
  CHECK(b.out.back().kind == DecisionKind::hold_withdrawn);
  CHECK(b.allowance.season.feed().moved_until == move.weak_until(b.settings.moves));
}

TEST_CASE("A bench of which nothing was known before has no climate that could have changed") {
  BenchParts b;
  BenchMoment m = b.at(day_n(4));
  b.at(day_n(0)).place_or_extend(HoldEvent::of_move(Cause::moved_outdoors, day_n(0), day_n(0)));
  season::ClimateChange unknown;
  unknown.nights_after = 3;
  answer_move(carried_out(0, true), unknown, {}, m);
  CHECK_FALSE(b.allowance.holds.in_force());
}

TEST_CASE("Shuttling is answered by the more careful of both ways") {
  MoveRules rules;
  rules.moved_outdoors = MoveAnswer::none;
  rules.moved_indoors = MoveAnswer::hold;
  PendingMove move{Cause::moved_outdoors, kOutdoors, {}, {}, false};
  CHECK(move.answer(rules) == MoveAnswer::none);
  move.cause = Cause::shuttling;
  CHECK(move.answer(rules) == MoveAnswer::hold);
}

TEST_CASE("No move, no fall by one") {
  BenchParts b;
  BenchMoment m = b.at(day_n(0));
  CHECK_FALSE(FallByMove().claims(fall_to(10), {}, std::nullopt, m));
  CHECK(b.out.empty());
}

TEST_CASE("A fall that the gate lets pass is told of once a fortnight") {
  BenchParts b;
  const MoveJudge moves;
  DropJudge drops;
  NightFacts night;
  const auto answer = [&](int n) {
    night.night = n;
    BenchMoment m = b.at(day_n(n));
    drops.answer(fall_to(18 - b.settings.drops.gate_passing_fall_c + 0.5), night, moves, m);
    return b.out.size();
  };
  b.settings.drops.comfort_guard = false;
  night.days_shorten = false;
  CHECK(answer(0) == 1);
  CHECK(b.out[0].kind == DecisionKind::notice);
  CHECK(answer(13) == 1);
  CHECK(answer(14) == 2);
  CHECK_FALSE(b.allowance.holds.in_force());
  night.days_shorten = true;
  CHECK(answer(15) == 3);
  CHECK(b.out[2].kind == DecisionKind::hold_placed);
}

TEST_CASE("A hold is withdrawn when its nights recover, but not while a move waits") {
  for (const bool waits : {true, false}) {
    CAPTURE(waits);
    BenchParts b;
    MoveJudge moves;
    const DropJudge drops;
    b.at(day_n(0)).place_or_extend(HoldEvent::of(fall_to(10), day_n(0)));
    if (waits) {
      BenchMoment m = b.at(day_n(1));
      moves.take(season::Carried::once, kOutdoors, day_n(1), m);
    }
    for (int n = 1; n <= b.settings.drops.decide_night; ++n) {
      NightFacts night;
      night.night = n;
      night.counted = true;
      night.air.temperature.mean = 18;
      BenchMoment m = b.at(day_n(n));
      drops.prove(night, moves, m);
    }
    CHECK(b.allowance.holds.in_force() == waits);
  }
}
