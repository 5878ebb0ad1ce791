// Moves: plain water from the moment they are seen, and what the first nights after them make of
// it.
#include <catch2/catch.hpp>

#include "carried_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;

TEST_CASE("A move gives plain water at once, and colder nights confirm it after three") {
  TestBench b = fed();
  b.carry(kOut);
  REQUIRE(b.count(DecisionKind::hold_placed) == 1);
  const Decision placed = b.last(DecisionKind::hold_placed);
  CHECK(placed.cause == Cause::moved_outdoors);
  CHECK(placed.feeding == Feeding::plain_water);
  CHECK(placed.strength_percent == 0);
  CHECK(placed.hold->provisional);
  CHECK(placed.time == b.now() + hours(4));
  CHECK(placed.since == b.now() + hours(3));
  CHECK(b.share().cause == Cause::moved_outdoors);
  CHECK(
      words::in_english(b.feeding->because(b.now(), b.season.moves)).find("to be decided about") !=
      std::string::npos);
  b.nights(2, 12);
  CHECK(b.count(DecisionKind::hold_confirmed) == 0);
  b.one_night(12);
  REQUIRE(b.count(DecisionKind::hold_confirmed) == 1);
  const Decision confirmed = b.last(DecisionKind::hold_confirmed);
  CHECK(confirmed.cause == Cause::moved_outdoors);
  CHECK(confirmed.time == b.now());
  CHECK_FALSE(confirmed.hold->provisional);
  CHECK(says(confirmed, "\"nights_before_c\":18."));
  CHECK(says(confirmed, "\"nights_now_c\":12."));
  b.nights(60, 12);
  REQUIRE(b.count(DecisionKind::hold_ended) == 1);
  const double days = days_of(b.last(DecisionKind::hold_ended).time - placed.time);
  CHECK(days >= 28);
  CHECK(days <= 42);
  CHECK(holds(b) == 1);
}

TEST_CASE("Colder days are another climate too") {
  TestBench b = fed();
  b.carry(kIn);
  b.day_over_night_c = 2;  // days of 20 instead of 24
  b.nights(3, 18);
  CHECK(b.count(DecisionKind::hold_confirmed) == 1);
}

TEST_CASE(
    "A move that changed nothing is withdrawn after three nights, and the feed of before is back") {
  TestBench b = fed();
  const int before = b.percent();
  b.carry(kOut);
  CHECK(b.percent() == 0);
  b.nights(2, 17);
  CHECK(b.percent() == 0);
  b.one_night(17);
  REQUIRE(b.count(DecisionKind::hold_withdrawn) == 1);
  const Decision withdrawn = b.last(DecisionKind::hold_withdrawn);
  CHECK(withdrawn.cause == Cause::moved_outdoors);
  CHECK(withdrawn.strength_percent == before);
  CHECK(says(withdrawn, "\"feeding_days_lost\":2."));
  CHECK(b.percent() == before);
  CHECK_FALSE(b.feeding->hold());
  b.nights(40, 17);
  CHECK(holds(b) == 1);
}

TEST_CASE(
    "Where nights and days got warmer, feed is weak for two weeks from the move, then full again "
    "step by step") {
  TestBench b = fed(16);
  b.carry(kIn);
  const Instant moved = b.now() + hours(3);
  b.nights(3, 20);
  REQUIRE(b.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(b.share().feeding == Feeding::reduced);
  CHECK(b.percent() == b.settings->feeding.strongest_reduced_percent);
  CHECK(b.share().cause == Cause::after_move);
  CHECK(b.last(DecisionKind::hold_withdrawn).strength_percent == b.percent());
  b.nights(10, 20);
  CHECK(b.percent() == 50);
  const std::size_t before = b.out.size();
  b.due_until(moved + 14 * kDay);
  REQUIRE(b.out.size() > before);
  CHECK(b.out.back().time == moved + 14 * kDay);
  CHECK(b.out.back().kind == DecisionKind::feeding_changed);
  CHECK(b.out.back().strength_percent == 75);
  b.nights(16, 20);
  CHECK(b.percent() == 100);
  CHECK(b.share().feeding == Feeding::full);
}

TEST_CASE(
    "Where only the nights got warmer, or only the days, it is another climate and the hold "
    "stands") {
  TestBench nights = fed(16), days = fed(16);
  nights.carry(kIn);
  nights.day_c = 20.5;  // 22 before
  nights.nights(3, 20);
  CHECK(nights.count(DecisionKind::hold_confirmed) == 1);
  CHECK(nights.percent() == 0);
  days.carry(kIn);
  days.day_c = 27;
  days.nights(3, 14.5);
  CHECK(days.count(DecisionKind::hold_confirmed) == 1);
}

TEST_CASE("What warmth leads to is a setting") {
  TestBench hold = fed(16), none = fed(16);
  hold.settings->moves.warmer = MoveAnswer::hold;
  hold.carry(kIn);
  hold.nights(3, 21);
  CHECK(hold.count(DecisionKind::hold_confirmed) == 1);
  none.settings->moves.warmer = MoveAnswer::none;
  none.carry(kIn);
  none.nights(3, 21);
  CHECK(none.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(none.percent() == 100);
}

TEST_CASE("Each direction has its own answer") {
  const auto carried = [](MoveAnswer out, MoveAnswer in, Position to) {
    TestBench b = fed();
    b.settings->moves.moved_outdoors = out;
    b.settings->moves.moved_indoors = in;
    b.settings->drops.watch = false;
    b.carry(to);
    CHECK(holds(b) == ((to == kOut ? out : in) == MoveAnswer::hold ? 1 : 0));
    b.nights(3, 13);
    return b;
  };
  CHECK(carried(MoveAnswer::hold, MoveAnswer::none, kOut).percent() == 0);
  CHECK(carried(MoveAnswer::none, MoveAnswer::hold, kIn).percent() == 0);
  const TestBench weak = carried(MoveAnswer::reduced, MoveAnswer::hold, kOut);
  CHECK(weak.percent() == 50);
  CHECK(weak.share().cause == Cause::after_move);
  CHECK(holds(weak) == 0);
  CHECK(with_cause(weak, DecisionKind::notice, Cause::moved_outdoors) == 1);
  const TestBench nothing = carried(MoveAnswer::none, MoveAnswer::hold, kOut);
  CHECK(nothing.percent() == 100);
  CHECK(holds(nothing) == 0);
}

TEST_CASE("Warmth where the direction asks for nothing leads to nothing") {
  TestBench b = fed(16);
  b.settings->moves.moved_indoors = MoveAnswer::none;
  b.carry(kIn);
  b.nights(3, 21);
  CHECK(b.percent() == 100);
  CHECK(holds(b) == 0);
}

TEST_CASE("An exempt bench is carried without a hold, and is told why") {
  TestBench by_settings = fed(), by_word = fed();
  by_settings.bench().exempt = true;
  by_word.ask(RequestKind::exempt, by_word.now() + 30 * kDay);
  for (TestBench* b : {&by_settings, &by_word}) {
    b->carry(kOut);
    b->nights(6, 11);
    CHECK(holds(*b) == 0);
    CHECK(b->percent() > 0);
    CHECK(with_cause(*b, DecisionKind::notice, Cause::exempt) >= 1);
  }
}

TEST_CASE("After the longest plain water a move places nothing but a severe one") {
  const auto rested = [](double after_c) {
    DropRules rules;
    rules.longest_plain_water_days = 30;
    TestBench b(rules);
    b.nights(40, 22);
    b.nights(45, 12);  // held, capped
    REQUIRE(b.last(DecisionKind::hold_ended).cause == Cause::cap);
    const int before = holds(b);
    b.carry(kOut);
    CHECK(holds(b) == before);
    b.nights(3, after_c);
    return holds(b) - before;
  };
  CHECK(rested(8) == 0);  // 4 °C
  CHECK(rested(3) == 1);  // 9 °C
}

TEST_CASE(
    "Carried on before the first move is judged: what was before the first counts, and it is one "
    "hold") {
  TestBench b = fed();
  b.carry(kOut);
  b.one_night(9);
  b.one_night(9);
  b.carry(kIn);  // for good
  CHECK(holds(b) == 1);
  CHECK(b.share().cause == Cause::moved_indoors);
  b.nights(2, 18);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 0);
  b.one_night(18);
  REQUIRE(b.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(b.last(DecisionKind::hold_withdrawn).cause == Cause::moved_indoors);
  CHECK(b.percent() == 100);
  TestBench colder = fed();
  colder.carry(kOut);
  colder.nights(2, 17.5);
  colder.carry(kIn);
  colder.nights(3, 13);
  CHECK(colder.count(DecisionKind::hold_confirmed) == 1);
  CHECK(holds(colder) == 1);
}

TEST_CASE(
    "Carried on to where the settings ask for weak feed: the first hold is withdrawn and feed is "
    "weak") {
  TestBench b = fed();
  b.settings->moves.moved_indoors = MoveAnswer::reduced;
  b.settings->drops.watch = false;
  b.carry(kOut);
  b.nights(2, 17.5);
  b.carry(kIn);
  b.nights(3, 13);
  REQUIRE(b.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(b.last(DecisionKind::hold_withdrawn).text().find("hardly changed") == std::string::npos);
  CHECK(b.last(DecisionKind::hold_withdrawn).text().find("warmth") == std::string::npos);
  CHECK(b.percent() == 50);
  CHECK(b.share().cause == Cause::after_move);
  // Nothing says in one breath that a hold is withdrawn and that none was placed.
  CHECK(std::none_of(b.out.begin(), b.out.end(), [](const Decision& d) {
    return d.text().find("no hold was placed") != std::string::npos;
  }));
}

TEST_CASE("Out and back on one day is withdrawn, since the nights are as before") {
  TestBench b = fed();
  CHECK(b.carry(kOut, 3) == season::Carried::once);
  CHECK(b.carry(kIn, 9) == season::Carried::back);
  CHECK(holds(b) == 1);
  b.nights(3, 18);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(b.percent() == 100);
}

TEST_CASE(
    "With nothing to compare with: a new bench was not changed, and without nights since the hold "
    "is the careful side") {
  TestBench b;
  b.carry(kOut);
  CHECK(b.percent() == 0);
  b.nights(3, 15);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 1);
  TestBench dark = fed();
  dark.carry(kOut);
  dark.blind(7);
  CHECK(dark.count(DecisionKind::hold_confirmed) == 0);
  dark.blind(2);
  CHECK(dark.count(DecisionKind::hold_confirmed) == 1);
  CHECK(dark.count(DecisionKind::hold_withdrawn) == 0);
}

TEST_CASE("Nights that cannot be judged are waited for") {
  TestBench b = fed();
  b.carry(kOut);
  b.one_night(18);
  b.blind(2);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 0);
  b.nights(2, 18);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 1);
}

TEST_CASE("While the clock is not believed a move is answered, but nothing is withdrawn") {
  TestBench b = fed();
  b.feeding->allow_release(false);
  b.carry(kOut);
  CHECK(b.percent() == 0);
  b.nights(6, 18);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 0);
  CHECK(b.percent() == 0);
  b.feeding->allow_release(true);
  b.one_night(18);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(b.percent() == 100);
}

TEST_CASE("While a move is judged its sentence says that the bench was carried back") {
  TestBench b = fed();
  b.carry(kOut, 2);
  const auto why = [&] {
    return words::in_english(b.feeding->because(b.now() + hours(12), b.season.moves));
  };
  CHECK(why().find("back indoors") == std::string::npos);
  b.carry(kIn, 10);
  CHECK(
      why() ==
      "Plain water: the bench was carried outdoors on 13 November, and back indoors the same day; "
      "to be decided about 16 November.");
}
