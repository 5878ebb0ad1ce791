// Falls of the nights that meet the rule and place no hold: they leave a trace.
#include "test_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {

/// Falls that were told of without a hold.
std::vector<Decision> let_pass(const TestBench& b) {
  std::vector<Decision> found;
  for (const Decision& d : b.out)
    if (d.kind == DecisionKind::notice && d.cause == Cause::sharp_drop) found.push_back(d);
  return found;
}

TestBench cool_bench(double night_c) {
  TestBench b({}, Group::cool);
  b.nights(40, night_c);
  return b;
}

}  // namespace

TEST_CASE("A fall to nights that are warm enough is told with its figures, once") {
  TestBench b = cool_bench(19);
  b.nights(12, 13.2);
  CHECK(b.count(DecisionKind::hold_placed) == 0);
  const auto told = let_pass(b);
  REQUIRE(told.size() == 1);
  CHECK(
      told[0].text() ==
      "Nights fell from 19.1 to 13.4 °C; no hold: 13.4 °C is still warm enough for cool growers.");
  CHECK_THAT(told[0].evidence.json(), Contains("\"fall_c\":5.70") && Contains("\"nights_now_c\""));
  CHECK(b.percent() == 100);
}

TEST_CASE("A fall of eight degrees is held wherever it lands") {
  TestBench b = cool_bench(21);
  b.nights(12, 12.8);
  CHECK(b.count(DecisionKind::hold_placed) == 1);
}

TEST_CASE("A bench whose drops are not watched is told of none") {
  DropRules rules;
  rules.watch = false;
  TestBench b(rules, Group::cool);
  b.nights(40, 19);
  b.nights(12, 13.2);
  CHECK(let_pass(b).empty());
}

TEST_CASE("What a move did to the nights is told with the move and not beside it") {
  TestBench b = cool_bench(19);
  b.carry(Position::outdoors);
  b.nights(20, 13.2);
  CHECK(b.count(DecisionKind::hold_confirmed) == 1);
  CHECK(let_pass(b).empty());
}

TEST_CASE("Of a fall while days grow longer it is told that they do") {
  TestBench b;
  b.nights(40, 17);
  b.days_shorten = false;
  b.nights(12, 12);
  REQUIRE(let_pass(b).size() == 1);
  CHECK(let_pass(b)[0].text() ==
        "Nights fell from 17.1 to 12.2 °C; no hold: days are growing longer.");
}
