// Moves: plain water from the moment they are seen, and what the first nights after them make of it.
#include <catch2/catch.hpp>

#include "test_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;

namespace {

constexpr Position kIn = Position::indoors, kOut = Position::outdoors;

bool says(const Decision& d, const std::string& text) { return d.evidence.json().find(text) != std::string::npos; }
int with_cause(const TestBench& b, DecisionKind kind, Cause cause) {
  return static_cast<int>(std::count_if(b.out.begin(), b.out.end(), [=](const Decision& d) { return d.kind == kind && d.cause == cause; }));
}
int holds(const TestBench& b) { return b.count(DecisionKind::hold_placed) + b.count(DecisionKind::hold_extended); }

/// A bench of an ordinary autumn on full feed. The guard would let pass what lands at 17 °C.
TestBench fed(double night_c = 18) {
  TestBench b;
  b.nights(40, night_c);
  REQUIRE(b.share().feeding == Feeding::full);
  return b;
}

}  // namespace

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
  CHECK(b.feeding->because(b.now()).find("decides about") != std::string::npos);
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

TEST_CASE("A move that changed nothing is withdrawn after three nights, and the feed of before is back") {
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

TEST_CASE("Where nights and days got warmer, feed is weak for two weeks from the move, then full again step by step") {
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

TEST_CASE("Where only the nights got warmer, or only the days, it is another climate and the hold stands") {
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
  CHECK(rested(8) == 0);   // 4 °C
  CHECK(rested(3) == 1);   // 9 °C
}

TEST_CASE("Carried on before the first move is judged: what was before the first counts, and it is one hold") {
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

TEST_CASE("Carried on to where the settings ask for weak feed: the first hold is withdrawn and feed is weak") {
  TestBench b = fed();
  b.settings->moves.moved_indoors = MoveAnswer::reduced;
  b.settings->drops.watch = false;
  b.carry(kOut);
  b.nights(2, 17.5);
  b.carry(kIn);
  b.nights(3, 13);
  REQUIRE(b.count(DecisionKind::hold_withdrawn) == 1);
  CHECK(b.last(DecisionKind::hold_withdrawn).text.find("hardly changed") == std::string::npos);
  CHECK(b.last(DecisionKind::hold_withdrawn).text.find("warmth") == std::string::npos);
  CHECK(b.percent() == 50);
  CHECK(b.share().cause == Cause::after_move);
  // Nothing says in one breath that a hold is withdrawn and that none was placed.
  CHECK(std::none_of(b.out.begin(), b.out.end(), [](const Decision& d) { return d.text.find("no hold was placed") != std::string::npos; }));
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

TEST_CASE("With nothing to compare with, the careful side is the hold") {
  TestBench b;
  b.carry(kOut);
  CHECK(b.percent() == 0);
  b.nights(3, 15);
  CHECK(b.count(DecisionKind::hold_confirmed) == 1);
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
  CHECK_FALSE(b.last(DecisionKind::hold_placed).hold->provisional);
}

TEST_CASE("Shuttling that changed neither nights nor days is withdrawn, and its end without change places nothing") {
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

TEST_CASE("A fall of the nights that is the move's makes one hold, which tells both causes, and never a sharp drop") {
  TestBench b = fed();
  b.carry(kOut);
  b.nights(12, 10);
  CHECK(holds(b) == 1);
  CHECK(b.count(DecisionKind::hold_placed) == 1);
  for (const Decision& d : b.out)
    if (d.hold) CHECK(d.cause != Cause::sharp_drop);
  CHECK(std::any_of(b.out.begin(), b.out.end(), [](const Decision& d) { return is_move(d.cause) && says(d, "\"also\":\"sharp-drop\""); }));
  b.nights(60, 10);
  CHECK(holds(b) == 1);  // nor is it answered again afterwards
}

TEST_CASE("In spring, with the gate shut, a move out is a move, and so it is where its hold is withdrawn before the fall is seen") {
  TestBench b = fed();
  b.days_shorten = false;
  b.carry(kOut);
  b.nights(3, 16);  // hardly cooler yet
  REQUIRE(b.count(DecisionKind::hold_withdrawn) == 1);
  b.nights(8, 10);
  for (const Decision& d : b.out)
    if (d.kind == DecisionKind::hold_placed || d.kind == DecisionKind::hold_extended) CHECK(d.cause == Cause::moved_outdoors);
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
  CHECK(with_cause(b, DecisionKind::hold_placed, Cause::sharp_drop) + with_cause(b, DecisionKind::hold_extended, Cause::sharp_drop) == 1);
}

TEST_CASE("Where nights are waited for longer, the drop that comes first answers for the move, once") {
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
  CHECK(std::any_of(fading.out.begin(), fading.out.end(), [](const Decision& d) { return says(d, "\"also\":\"sharp-drop\""); }));
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

TEST_CASE("Only where the settings say so relief ends a hold, and not before 28 days from its newest event") {
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

TEST_CASE("A confirmed hold of a move that the grower releases is not placed again for the same fall") {
  TestBench b = fed();
  b.settings->moves.judged_nights = 1;
  b.carry(kOut);
  b.one_night(11);
  REQUIRE(b.count(DecisionKind::hold_confirmed) == 1);
  REQUIRE(b.ask(RequestKind::release).done);
  b.nights(12, 11);
  CHECK(holds(b) == 1);
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
