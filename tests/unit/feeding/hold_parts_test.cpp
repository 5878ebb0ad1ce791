// What a bench keeps of its holds: the one in force, what limits new ones, those announced ahead.
#include "bench_parts.h"
#include "feeding/announcements.h"

using namespace plainwater;
using namespace plainwater::feeding;

TEST_CASE("A second event extends the hold, and the next hold has a number of its own") {
  HoldKeeper holds;
  SeasonFeed before;
  before.percent = 75;
  CHECK(holds.place_or_extend(HoldEvent::of(fall_to(10), day_n(0)), day_n(0), before) ==
        DecisionKind::hold_placed);
  CHECK(holds.place_or_extend(HoldEvent::of(fall_to(8), day_n(3)), day_n(3), {}) ==
        DecisionKind::hold_extended);
  REQUIRE(holds.in_force());
  CHECK(holds.hold()->id == 1);
  CHECK(holds.hold()->before.percent == 75);
  CHECK_FALSE(holds.current().events[0].during_hold);
  CHECK(holds.current().events[1].during_hold);
  holds.clear();
  CHECK_FALSE(holds.in_force());
  holds.place_or_extend(HoldEvent::of(fall_to(10), day_n(9)), day_n(9), {});
  CHECK(holds.hold()->id == 2);
}

TEST_CASE("The event of a move is the last that stands, and is recast while provisional") {
  HoldKeeper holds;
  CHECK(holds.move_event() == nullptr);
  CHECK_FALSE(holds.recast_move(Cause::shuttling, day_n(1)));
  holds.place_or_extend(HoldEvent::of_move(Cause::moved_outdoors, day_n(0), day_n(0)), day_n(0),
                        {});
  REQUIRE(holds.recast_move(Cause::shuttling, day_n(1)));
  CHECK(holds.hold()->cause == Cause::shuttling);
  CHECK(holds.move_event()->moved == day_n(1));
  holds.move_event()->proof = Proof::confirmed;
  CHECK_FALSE(holds.recast_move(Cause::moved_indoors, day_n(2)));
  holds.move_event()->proof = Proof::withdrawn;
  CHECK(holds.move_event() == nullptr);
}

TEST_CASE("Relief confirms sharp drops that are not proved yet, and nothing else") {
  HoldKeeper holds;
  holds.place_or_extend(HoldEvent::of(fall_to(10), day_n(0)), day_n(0), {});
  holds.place_or_extend(HoldEvent::of_move(Cause::moved_indoors, day_n(1), day_n(1)), day_n(1), {});
  holds.place_or_extend(HoldEvent::of(fall_to(9), day_n(2)), day_n(2), {});
  holds.current().events[2].proof = Proof::withdrawn;
  holds.confirm_drops();
  CHECK(holds.current().events[0].proof == Proof::confirmed);
  CHECK(holds.current().events[1].proof == Proof::provisional);
  CHECK(holds.current().events[2].proof == Proof::withdrawn);
}

TEST_CASE("Rest keeps a usual fall from placing a hold, an exemption every fall") {
  BenchParts b;
  const Bench& bench = b.settings.benches[0];
  const DropRules& rules = b.settings.drops;
  HoldLimits limits;
  CHECK(limits.may_hold(bench, day_n(0), 5, rules));
  limits.rest_until(day_n(10));
  CHECK_FALSE(limits.may_hold(bench, day_n(9), rules.severe_fall_c - 0.1, rules));
  CHECK(limits.may_hold(bench, day_n(9), rules.severe_fall_c, rules));
  CHECK(limits.may_hold(bench, day_n(10), 0, rules));

  CHECK(limits.exemption_due() == kForever);
  limits.exempt_until(day_n(20));
  CHECK(limits.exemption_due() == day_n(20));
  CHECK_FALSE(limits.may_hold(bench, day_n(19), rules.severe_fall_c, rules));
  CHECK(limits.may_hold(bench, day_n(20), 0, rules));
  limits.end_exemption();
  CHECK(limits.exemption_due() == kForever);
  Bench never_held = bench;
  never_held.exempt = true;
  CHECK_FALSE(limits.may_hold(never_held, day_n(30), rules.severe_fall_c, rules));
}

TEST_CASE("Plain water counts for a year, with what the hold in force has asked for") {
  HoldLimits limits;
  HoldKeeper holds;
  limits.add_spell(day_n(0), day_n(10));
  limits.add_spell(day_n(100), day_n(130));
  CHECK(limits.plain_days_in_year(day_n(200), holds) == Approx(40));
  CHECK(limits.plain_days_in_year(day_n(365 + 4), holds) == Approx(36));
  CHECK(limits.plain_days_in_year(day_n(365 + 120), holds) == Approx(10));
  limits.forget_spells(day_n(365 + 10));
  CHECK(limits.plain_days_in_year(day_n(365 + 10), holds) == Approx(30));
  limits.forget_spells(day_n(365 + 11));
  CHECK(limits.plain_days_in_year(day_n(200), holds) == Approx(30));

  holds.place_or_extend(HoldEvent::of_grower(day_n(190), day_n(220), Cause::grower, "Ada"),
                        day_n(190), {});
  CHECK(limits.plain_days_in_year(day_n(200), holds) == Approx(30));  // not asked for by detection
  holds.place_or_extend(HoldEvent::of(fall_to(10), day_n(195)), day_n(195), {});
  CHECK(limits.plain_days_in_year(day_n(200), holds) == Approx(35));
}

TEST_CASE("Announced holds wait in the order of their beginnings") {
  Announcements announced;
  CHECK(announced.due() == kForever);
  announced.add({day_n(5), day_n(9), "Ada", "first told"});
  announced.add({day_n(3), day_n(4), "Ben", ""});
  announced.add({day_n(5), day_n(8), "Cal", "told later"});
  CHECK(announced.due() == day_n(3));
  CHECK(announced.take().who == "Ben");
  CHECK(announced.take().who == "Ada");
  CHECK(announced.take().who == "Cal");
  CHECK(announced.empty());
}

TEST_CASE("A hold that never was gives the former feed back; its days count all the same") {
  BenchParts b;
  const SeasonFeed before = b.allowance.season.feed();
  b.at(day_n(0)).place_or_extend(HoldEvent::of(fall_to(10), day_n(0)));
  b.allowance.season.after_pause(day_n(4), b.settings.feeding);
  b.at(day_n(10)).undo_hold();
  CHECK_FALSE(b.allowance.holds.in_force());
  CHECK(b.allowance.season.feed() == before);
  CHECK(b.limits.plain_days_in_year(day_n(10), b.allowance.holds) == Approx(10));
}

TEST_CASE("A hold that has lasted ends with weak feed and says how long it was") {
  BenchParts b;
  b.at(day_n(0)).place_or_extend(HoldEvent::of(fall_to(10), day_n(0)));
  const Instant end = b.allowance.holds.hold()->planned_end(b.settings.drops);
  b.at(end).end_hold_by_time();
  REQUIRE(b.out.size() == 2);
  CHECK(b.out[1].kind == DecisionKind::hold_ended);
  CHECK(b.out[1].evidence.json().find("plain_water_days") != std::string::npos);
  CHECK_FALSE(b.allowance.holds.in_force());
  CHECK(b.allowance.season.cause(end) == Cause::after_hold);
  CHECK(b.questions.empty());
}
