// Moves while days grow longer: only what got colder is held.
#include "carried_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {

TestBench in_spring(double night_c = 16) {
  TestBench b = fed(night_c);
  b.days_shorten = false;
  b.light_h = 14;
  b.nights(10, night_c);
  return b;
}

}  // namespace

TEST_CASE("Days three degrees cooler with the same nights hold nothing in spring") {
  TestBench b = in_spring();
  b.carry(kOut);
  b.day_over_night_c = 2.5;  // 6 before
  b.nights(3, 16);
  REQUIRE(b.count(DecisionKind::hold_withdrawn) == 1);
  CHECK_THAT(b.last(DecisionKind::hold_withdrawn).text(),
             Contains("while days grow longer only colder nights or much colder days count") &&
                 Contains("days from"));
  CHECK(b.percent() == 100);
}

TEST_CASE("Nights three degrees cooler, or days five, are held in spring too") {
  const bool nights = GENERATE(true, false);
  TestBench b = in_spring();
  b.carry(kOut);
  b.day_over_night_c = nights ? 8 : 0.5;
  b.nights(3, nights ? 12.5 : 16);
  CHECK(b.count(DecisionKind::hold_confirmed) == 1);
}

TEST_CASE("What got warmer on the whole is not held in spring") {
  TestBench b = in_spring();
  b.carry(kOut);
  b.day_over_night_c = 14;  // nights 3.5 °C cooler, days 4.5 °C warmer
  b.nights(3, 12.5);
  CHECK(b.count(DecisionKind::hold_confirmed) == 0);
  CHECK(b.count(DecisionKind::hold_withdrawn) == 1);
}

TEST_CASE("In the waning half-year and near the equator cooler days hold as before") {
  const bool tropical = GENERATE(true, false);
  TestBench b = in_spring();
  b.days_shorten = !tropical;
  b.tropical = tropical;
  b.carry(kOut);
  b.day_over_night_c = 2.5;
  b.nights(3, 16);
  CHECK(b.count(DecisionKind::hold_confirmed) == 1);
}

TEST_CASE("Carried out by day and in by night in spring: the same nights hold nothing for long") {
  TestBench b = in_spring();
  for (int day = 0; day < 8; ++day) {
    b.carry(kOut, 2);
    b.carry(kIn, 10);
    b.day_over_night_c = 2.5;
    b.one_night(16);
  }
  b.nights(6, 16);
  CHECK(b.count(DecisionKind::hold_confirmed) == 0);
  CHECK_FALSE(b.feeding->hold());
}
