// Holds: proof of their events, lengths by depth, ends.
#include "feeding/hold.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace plainwater;
using namespace plainwater::feeding;

namespace {

const DropRules kRules;
const Instant kPlaced = from_seconds(1'789'344'000);

/// A fall from 18 to 10 °C.
HoldEvent a_fall(double landing_c = 10, Instant placed = kPlaced) {
  season::Drop drop;
  drop.base_c = drop.before_c = 18;
  drop.landing_c = landing_c;
  drop.acclimated_c = 16.5;
  drop.deficit_c = 5;
  return HoldEvent::of(drop, placed);
}

/// On which night of a hold the proof changed, 0 if it did not.
int decided(HoldEvent& event, const std::vector<double>& nights) {
  for (std::size_t i = 0; i < nights.size(); ++i)
    if (event.take_night(nights[i], 4, true, kRules)) return static_cast<int>(i) + 1;
  return 0;
}

std::vector<double> nights(int cold, int warm, int cold_again = 0) {
  std::vector<double> out(static_cast<std::size_t>(cold), 10.0);
  out.insert(out.end(), static_cast<std::size_t>(warm), 18.0);
  out.insert(out.end(), static_cast<std::size_t>(cold_again), 10.0);
  return out;
}

double days(Span s) { return days_of(s); }

}  // namespace

TEST_CASE("Nights that stay cold confirm on night 10") {
  HoldEvent e = a_fall();
  CHECK(e.proof == Proof::provisional);
  CHECK(decided(e, nights(20, 0)) == 10);
  CHECK(e.proof == Proof::confirmed);
  CHECK_FALSE(e.take_night(25, 0, true, kRules));  // confirmed stays confirmed
}

TEST_CASE("Nights that recover withdraw on night 10") {
  HoldEvent e = a_fall();
  CHECK(decided(e, nights(1, 19)) == 10);
  CHECK(e.proof == Proof::withdrawn);
  CHECK_FALSE(e.stands());
}

TEST_CASE("Half of the fall must last; the first third of the nights does not count") {
  HoldEvent lasts = a_fall(), fades = a_fall();
  CHECK(lasts.needed_c(kRules) == 4);
  CHECK(decided(lasts, std::vector<double>(10, 14.0)) == 10);
  CHECK(lasts.proof == Proof::confirmed);
  CHECK(decided(fades, std::vector<double>(10, 14.01)) == 10);
  CHECK(fades.proof == Proof::withdrawn);
  HoldEvent warm_first = a_fall();  // three warm nights, then cold
  decided(warm_first, {18, 18, 18, 10, 10, 10, 10, 10, 10, 10});
  CHECK(warm_first.proof == Proof::confirmed);
}

TEST_CASE("A shallow fall must last as one of 3.5 °C") {
  HoldEvent e = a_fall(16);
  CHECK(e.needed_c(kRules) == 1.75);
}

TEST_CASE(
    "A warm spell in the middle does not withdraw while the last nights are cold: asked again to "
    "night 16") {
  HoldEvent confirmed = a_fall();
  CHECK(decided(confirmed, nights(0, 7, 9)) > 10);
  CHECK(confirmed.proof == Proof::confirmed);
  HoldEvent undecided = a_fall();
  std::vector<double> wavering = nights(0, 7, 3);
  for (int i = 0; i < 3; ++i)
    wavering.insert(wavering.end(), {18, 10});  // the mean of the last three stays near 13
  const int night = decided(undecided, wavering);
  CHECK(night >= 10);
  CHECK(night <= 16);
  CHECK(undecided.proof != Proof::provisional);
}

TEST_CASE("By night 16 it is decided, whatever the nights") {
  for (unsigned pattern = 0; pattern < (1u << 16); pattern += 7) {
    HoldEvent e = a_fall();
    std::vector<double> mixed;
    for (unsigned i = 0; i < 16; ++i) mixed.push_back((pattern >> i & 1) != 0 ? 10.0 : 18.0);
    const int night = decided(e, mixed);
    REQUIRE(night >= 10);
    REQUIRE(night <= 16);
  }
}

TEST_CASE("The length follows the deepest deficit of the first seven nights, 28 to 42 days") {
  const auto length = [](double peak_c) {
    HoldEvent e = a_fall();
    e.deficit_c = e.peak_c = 0;
    e.take_night(10, peak_c, true, kRules);
    return e.length_days(kRules);
  };
  CHECK(length(0) == 28);
  CHECK(length(3.5) == 28);                                     // 14·ln 7 = 27.2
  CHECK(length(5) == Approx(14 * std::log(10)).margin(0.001));  // 32.2
  CHECK(length(8) == Approx(14 * std::log(16)).margin(0.001));  // 38.8
  CHECK(length(12) == 42);                                      // 14·ln 24 = 44.5
  HoldEvent late = a_fall();
  for (int i = 0; i < 7; ++i) late.take_night(10, 4, true, kRules);
  late.take_night(10, 12, true, kRules);
  CHECK(late.peak_c == 5);  // what it began with
}

TEST_CASE("A grower's own event needs no proof and ends when told") {
  HoldEvent e = HoldEvent::of_grower(kPlaced, kPlaced + 90 * kDay, Cause::grower, "Ada");
  CHECK_FALSE(e.detected());
  CHECK(e.proof == Proof::confirmed);
  CHECK_FALSE(e.take_night(30, 0, true, kRules));
  CHECK(e.planned_end(kRules) == kPlaced + 90 * kDay);
}

TEST_CASE("A hold of one fall") {
  Hold h;
  h.id = 7;
  h.placed = kPlaced;
  h.events = {a_fall()};
  CHECK(h.view(kRules).provisional);
  CHECK(h.asked() == nullptr);
  const HoldView v = h.view(kRules);
  CHECK(v.id == 7);
  CHECK(days(v.earliest_end - kPlaced) == 28);
  CHECK(days(v.planned_end - kPlaced) == Approx(32.236));
  CHECK(days(v.latest_end - kPlaced) == 42);
  CHECK_FALSE(h.capped(kRules));
}

TEST_CASE("A second fall lengthens the hold to 28 days from itself, never past 63 days") {
  Hold h;
  h.placed = kPlaced;
  HoldEvent second = a_fall(10, kPlaced + 20 * kDay);
  second.during_hold = true;
  h.events = {a_fall(), second};
  CHECK(days(h.planned_end(kRules) - kPlaced) == 48);
  CHECK(days(h.earliest_end(kRules) - kPlaced) == 48);
  CHECK_FALSE(h.capped(kRules));
  HoldEvent third = a_fall(5, kPlaced + 40 * kDay);
  third.during_hold = true;
  h.events.push_back(third);
  CHECK(days(h.planned_end(kRules) - kPlaced) == 63);
  CHECK(days(h.latest_end(kRules) - kPlaced) == 63);
  CHECK(h.capped(kRules));
  h.events.back().proof = Proof::withdrawn;
  CHECK_FALSE(h.capped(kRules));
  CHECK(days(h.planned_end(kRules) - kPlaced) == 48);
}

TEST_CASE("A hold stands while any of its events stands") {
  Hold h;
  h.placed = kPlaced;
  h.events = {a_fall(), a_fall(10, kPlaced + 8 * kDay)};
  h.events[0].proof = Proof::withdrawn;
  CHECK(h.stands());
  CHECK(h.view(kRules).provisional);
  h.events[1].proof = Proof::confirmed;
  CHECK_FALSE(h.view(kRules).provisional);
  h.events[1].proof = Proof::withdrawn;
  CHECK_FALSE(h.stands());
}

TEST_CASE("A grower's end is not cut at 63 days") {
  Hold h;
  h.placed = kPlaced;
  h.events = {a_fall(),
              HoldEvent::of_grower(kPlaced + 5 * kDay, kPlaced + 100 * kDay, Cause::grower, "Ada")};
  CHECK(days(h.planned_end(kRules) - kPlaced) == 100);
  CHECK(h.asked_leads(kRules));
  CHECK_FALSE(h.capped(kRules));
}
