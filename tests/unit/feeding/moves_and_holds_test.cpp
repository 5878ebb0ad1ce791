// Moves beside sharp drops, holds in force and the grower's word: one event, one answer.
#include <catch2/catch.hpp>

#include "carried_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;

TEST_CASE(
    "A fall of the nights that is the move's makes one hold, which tells both causes, and never a "
    "sharp drop") {
  TestBench b = fed();
  b.carry(kOut);
  b.nights(12, 10);
  CHECK(holds(b) == 1);
  CHECK(b.count(DecisionKind::hold_placed) == 1);
  for (const Decision& d : b.out)
    if (d.hold) CHECK(d.cause != Cause::sharp_drop);
  CHECK(std::any_of(b.out.begin(), b.out.end(), [](const Decision& d) {
    return is_move(d.cause) && says(d, "\"also\":\"sharp-drop\"");
  }));
  b.nights(60, 10);
  CHECK(holds(b) == 1);  // nor is it answered again afterwards
}

TEST_CASE(
    "In spring, with the gate shut, a move out is a move, and so it is where its hold is withdrawn "
    "before the fall is seen") {
  TestBench b = fed();
  b.days_shorten = false;
  b.carry(kOut);
  b.nights(3, 16);  // hardly cooler yet
  REQUIRE(b.count(DecisionKind::hold_withdrawn) == 1);
  b.nights(8, 10);
  for (const Decision& d : b.out)
    if (d.kind == DecisionKind::hold_placed || d.kind == DecisionKind::hold_extended)
      CHECK(d.cause == Cause::moved_outdoors);
  CHECK(b.percent() == 0);
  REQUIRE(b.count(DecisionKind::hold_placed) == 2);
  CHECK(says(b.last(DecisionKind::hold_placed), "\"also\":\"sharp-drop\""));
}

TEST_CASE("A fall weeks after a move is the season's") {
  TestBench b = fed(20);
  b.carry(kOut);
  b.nights(25, 19);
  b.nights(8, 11);
  CHECK(with_cause(b, DecisionKind::hold_placed, Cause::sharp_drop) == 1);
}

TEST_CASE("A fall that only in small part is the move's is the season's") {
  TestBench b = fed(20);
  b.carry(kOut);
  b.nights(6, 18.5);
  b.nights(6, 10.5);  // of the weather
  CHECK(with_cause(b, DecisionKind::hold_placed, Cause::sharp_drop) +
            with_cause(b, DecisionKind::hold_extended, Cause::sharp_drop) ==
        1);
}

TEST_CASE(
    "Where nights are waited for longer, the drop that comes first answers for the move, once") {
  TestBench held = fed(20);
  held.settings->moves.judged_nights = 8;
  held.nights(12, 13);
  REQUIRE(with_cause(held, DecisionKind::hold_placed, Cause::sharp_drop) == 1);
  held.nights(8, 13);
  const int before = holds(held);
  held.carry(kOut);
  held.nights(14, 7);
  CHECK(holds(held) == before + 1);
  TestBench fading = fed();
  fading.settings->moves.judged_nights = 8;
  fading.carry(kOut);
  fading.nights(5, 10);
  CHECK(std::any_of(fading.out.begin(), fading.out.end(),
                    [](const Decision& d) { return says(d, "\"also\":\"sharp-drop\""); }));
  CHECK(holds(fading) == 1);
}

TEST_CASE("A move to warmth during a hold is relief: the proof stands and the hold goes on") {
  TestBench b = fed(20);
  b.nights(6, 12);
  REQUIRE(with_cause(b, DecisionKind::hold_placed, Cause::sharp_drop) == 1);
  REQUIRE(b.feeding->hold()->provisional);
  const Decision placed = b.last(DecisionKind::hold_placed);
  b.carry(kIn);
  b.nights(3, 20);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 0);
  CHECK_FALSE(b.feeding->hold()->provisional);
  REQUIRE(with_cause(b, DecisionKind::notice, Cause::moved_indoors) == 1);
  CHECK(says(b.last(DecisionKind::notice), "\"deficit_c\""));
  b.nights(60, 20);
  REQUIRE(b.count(DecisionKind::hold_ended) == 1);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 0);
  const double days = days_of(b.last(DecisionKind::hold_ended).time - placed.time);
  CHECK(days > 28.5);  // by depth, as though it had not been carried
  CHECK(days <= 42);
  CHECK(holds(b) == 1);
}

TEST_CASE(
    "Only where the settings say so relief ends a hold, and not before 28 days from its newest "
    "event") {
  const auto ended = [](bool relief_ends, int carried_after, bool with_second) {
    TestBench b = fed(24);
    b.settings->moves.relief_ends_hold = relief_ends;
    b.settings->drops.longest_days = 60;
    b.nights(6, 12);
    Decision newest = b.last(DecisionKind::hold_placed);
    if (with_second) {
      b.nights(14, 12);
      b.nights(6, 5);
      newest = b.last(DecisionKind::hold_extended);
    } else {
      b.nights(carried_after, 12);
    }
    b.carry(kIn);
    b.nights(70, 24);
    REQUIRE(b.count(DecisionKind::hold_ended) == 1);
    return days_of(b.last(DecisionKind::hold_ended).time - newest.time);
  };
  const double usual = ended(false, 2, false);
  CHECK(usual > 33);
  CHECK(ended(true, 2, false) == Approx(28));
  const double late = ended(true, 27, false);
  CHECK(late >= 28);
  CHECK(late < usual);
  CHECK(ended(true, 0, true) == Approx(28));
}

TEST_CASE("Relief never ends what a grower asked for") {
  TestBench b = fed(20);
  b.settings->moves.relief_ends_hold = true;
  b.nights(6, 12);
  const Instant until = b.now() + 80 * kDay;
  REQUIRE(b.ask(RequestKind::extend, until).done);
  b.carry(kIn);
  b.nights(76, 20);
  CHECK(b.count(DecisionKind::hold_ended) == 0);
  b.nights(6, 20);
  CHECK(b.last(DecisionKind::hold_ended).time == until);
}

TEST_CASE("Warm days without warm nights are no relief") {
  TestBench b = fed(20);
  b.nights(6, 12);
  b.carry(kIn);
  b.day_c = 27;
  b.nights(3, 12.5);
  CHECK(b.feeding->hold()->provisional);
}

TEST_CASE("A move to cold during a hold makes it longer, and one that changes nothing does not") {
  TestBench colder = fed(24), same = fed(24);
  for (TestBench* b : {&colder, &same}) b->nights(20, 12.5);
  const Instant before = same.feeding->hold()->planned_end;
  colder.carry(kOut);
  CHECK(holds(colder) == 1);  // it has plain water anyway
  colder.nights(3, 7);
  CHECK(with_cause(colder, DecisionKind::hold_extended, Cause::moved_outdoors) == 1);
  CHECK(colder.feeding->hold()->planned_end >= colder.now() + 28 * kDay - hours(1));
  CHECK(colder.feeding->hold()->id == 1);
  same.carry(kOut);
  same.nights(3, 12.5);
  CHECK(holds(same) == 1);
  CHECK(same.feeding->hold()->planned_end == before);
}

TEST_CASE("A hold that the grower releases before it is judged stays released") {
  TestBench b = fed();
  b.carry(kOut);
  b.one_night(11);
  REQUIRE(b.ask(RequestKind::release, {}, {}, true).done);
  CHECK_FALSE(b.feeding->hold());
  b.nights(12, 11);
  CHECK(holds(b) == 1);
  CHECK(b.count(DecisionKind::hold_confirmed) == 0);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 0);
  CHECK(b.percent() > 0);
  // A new move is a new matter.
  b.carry(kIn);
  CHECK(holds(b) == 2);
}

TEST_CASE(
    "A confirmed hold of a move that the grower releases is not placed again for the same fall") {
  TestBench b = fed();
  b.settings->moves.judged_nights = 1;
  b.carry(kOut);
  b.one_night(11);
  REQUIRE(b.count(DecisionKind::hold_confirmed) == 1);
  REQUIRE(b.ask(RequestKind::release).done);
  b.nights(12, 11);
  CHECK(holds(b) == 1);
}

TEST_CASE("A hold of the grower's own goes on when the move's is withdrawn") {
  TestBench b = fed();
  b.carry(kOut);
  REQUIRE(b.ask(RequestKind::hold, b.now() + 20 * kDay).done);
  b.nights(3, 18);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 0);
  CHECK(b.percent() == 0);
  REQUIRE(b.feeding->hold());
  CHECK_FALSE(b.feeding->hold()->provisional);
  b.nights(20, 18);
  CHECK(b.count(DecisionKind::hold_ended) == 1);
}

TEST_CASE("A move to warmth on a bench that has weak feed anyway raises nothing") {
  TestBench b = fed(16);
  b.nights(30, 9);  // cool nights: reduced
  b.due_until(b.now() + hours(1));
  b.out.clear();
  while (b.feeding->hold()) b.one_night(9);
  const int before = b.percent();
  REQUIRE(before <= 50);
  b.carry(kIn);
  b.nights(3, 15);
  CHECK(b.percent() <= std::max(before, 50));
  for (const Decision& d : b.out) CHECK(d.strength_percent <= 50);
}

TEST_CASE("A fall after a harmless excursion is the season's, and must prove itself") {
  TestBench b = fed();
  b.carry(kOut, 3);
  b.carry(kIn, 9);
  b.nights(3, 18);
  REQUIRE(b.count(DecisionKind::hold_withdrawn) == 1);
  b.nights(5, 10);
  REQUIRE(b.feeding->hold());
  CHECK(b.feeding->hold()->cause == Cause::sharp_drop);
  CHECK(b.feeding->hold()->provisional);
  b.nights(16, 18);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 2);
}

TEST_CASE(
    "A bench that is carried again and again is judged by all its nights since the first time") {
  TestBench b = fed();
  for (int i = 0; i < 10 && b.count(DecisionKind::hold_confirmed) == 0; ++i) {
    b.carry(i % 2 == 0 ? kOut : kIn, 3);
    b.nights(2, 11);
  }
  CHECK(b.count(DecisionKind::hold_confirmed) == 1);
}

TEST_CASE("A move just before a hold ends keeps plain water until it is judged") {
  TestBench b = fed();
  b.nights(5, 11);
  REQUIRE(b.feeding->hold());
  const Instant end = b.feeding->hold()->latest_end;
  while (b.feeding->hold() && b.now() + 2 * kDay < b.feeding->hold()->planned_end) b.one_night(11);
  REQUIRE(b.now() < end);
  b.carry(kOut, 3);
  b.nights(2, 6);
  REQUIRE(b.feeding->hold());
  CHECK(with_cause(b, DecisionKind::hold_extended, Cause::moved_outdoors) == 1);
  b.nights(2, 6);
  CHECK(with_cause(b, DecisionKind::hold_confirmed, Cause::moved_outdoors) == 1);
}

TEST_CASE(
    "A hold by a move ends at the next night when the settings have come to say that the bench "
    "never moves") {
  TestBench b = fed();
  b.carry(kOut);
  REQUIRE(b.feeding->hold());
  b.bench().moves = Moves::never;
  b.one_night(11);
  CHECK_FALSE(b.feeding->hold());
  CHECK(b.last(DecisionKind::hold_withdrawn).text().find("never moves") != std::string::npos);
}
