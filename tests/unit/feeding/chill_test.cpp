// Cold air under the floor: what is noted, what is answered, for how long, and who may end it.
#include "test_bench.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {

const BenchFeeding::Share kChilled{Feeding::plain_water, 0, Cause::chill};

/// No fall of its nights is held.
DropRules unwatched() {
  DropRules rules;
  rules.watch = false;
  return rules;
}

/// Intermediate: the floor is 10 °C. On full feed.
TestBench at_full_feed(const DropRules& rules = {}) {
  TestBench b(rules);
  b.nights(45, 18);
  REQUIRE(b.percent() == 100);
  return b;
}

/// Until when the chill lasts, in hours from now.
double hours_left(const TestBench& b) { return days_of(b.feeding->chilled_until() - b.now()) * 24; }

std::string why(const TestBench& b) {
  return words::in_english(b.feeding->because(b.now(), b.season.moves));
}

}  // namespace

TEST_CASE("A dip below the floor is noted once its cold is over, and stops no feed") {
  TestBench b = at_full_feed();
  const auto told = b.out.size();
  b.cold(9.4, 2);
  CHECK(b.percent() == 100);
  CHECK(b.out.size() == told);
  b.due_until(b.now() + hours(6));
  REQUIRE(b.out.size() == told + 1);
  const Decision& d = b.out.back();
  CHECK(d.kind == DecisionKind::notice);
  CHECK(d.cause == Cause::dip);
  CHECK(d.since == b.now() - hours(2));
  CHECK_THAT(d.evidence.json(),
             Contains("\"lowest_c\":9.4,\"chill_floor_c\":10.0,\"degree_hours\":1.2"));
  CHECK(
      d.text() ==
      "The air dipped to 9.4 °C, below the chill floor of 10 °C, for about 2 hours: too slight and "
      "too short to stop the feed.");
  for (int night = 0; night < 6; ++night) {
    b.one_night(18);
    b.cold(9.4, 2);
  }
  CHECK(b.count(DecisionKind::notice) == 1);  // once a week
}

TEST_CASE("Six degree-hours are answered, in one stretch or in several") {
  TestBench b = at_full_feed();
  b.cold(9, 5.9);
  CHECK(b.percent() == 100);
  b.feeding->take_cold({b.now(), b.now() + minutes(12), 9, 9}, Position::unknown,
                       b.now() + minutes(12), b.out);
  CHECK(b.feeding->effective(b.now() + minutes(12)) == kChilled);
  const Decision& d = b.out.back();
  CHECK(d.kind == DecisionKind::feeding_changed);
  CHECK(d.text() ==
        "The air fell to 9.0 °C, below the chill floor of 10 °C: plain water until 19 November at "
        "least. Please "
        "check the heating.");
}

TEST_CASE("Cold nights count each for itself when the air was warm for six hours between") {
  TestBench b = at_full_feed();
  for (int i = 0; i < 5; ++i) {
    b.cold(9, 4);
    b.one_night(18);
  }
  CHECK(b.percent() == 100);
}

TEST_CASE("Three degrees under the floor are answered at once") {
  TestBench b = at_full_feed();
  b.cold(7.1, 0.5);
  CHECK(b.percent() == 100);
  b.cold(7, 0.2, Position::unknown, b.now() + minutes(20));
  CHECK(b.feeding->effective(b.now() + minutes(20)) == kChilled);
}

TEST_CASE("One reading far below another is no deep cold: two bear witness to a depth") {
  TestBench b = at_full_feed();
  b.feeding->take_cold({b.now() - minutes(10), b.now(), 9.9, 2}, Position::unknown, b.now(), b.out);
  CHECK(b.percent() == 100);
}

TEST_CASE("Plain water lasts from one to three days, as deep as the cold was") {
  double air_c = 0, expected_h = 0;
  std::tie(air_c, expected_h) =
      GENERATE(table<double, double>({{9.5, 28.8}, {9, 33.6}, {7.5, 48}, {5, 72}, {-3, 72}}));
  TestBench b = at_full_feed();
  b.cold(air_c, 24);
  CHECK(hours_left(b) == Approx(expected_h).margin(0.1));
}

TEST_CASE("A little colder air prolongs a chill without telling again, milder air does not") {
  TestBench b = at_full_feed();
  b.cold(9, 7);
  const auto told = b.out.size();
  const Instant until = b.feeding->chilled_until();
  b.due_until(b.now() + hours(20));
  b.cold(9.8, 2, Position::unknown, b.now() + hours(20));
  CHECK(b.feeding->chilled_until() == until);
  b.cold(6.5, 2, Position::unknown, b.now() + hours(23));
  CHECK(b.feeding->chilled_until() > until);
  CHECK(b.out.size() == told);
}

TEST_CASE(
    "Much colder air, and the first frost, are told at once, and what was since the last word") {
  TestBench b = at_full_feed();
  b.cold(9, 7);
  const auto told = b.out.size();
  const auto lowest = [&] { return b.out.back().evidence.json(); };
  const auto two_readings = [&](double air_c, int first_hour) {
    for (int hour : {first_hour, first_hour + 1})
      b.cold(air_c, 1, Position::unknown, b.now() + hours(hour));
  };
  two_readings(6, 1);
  REQUIRE(b.out.size() == told + 1);
  CHECK(b.out.back().kind == DecisionKind::notice);
  CHECK_THAT(lowest(), Contains("\"lowest_c\":6.0"));
  two_readings(3.5, 3);
  CHECK(b.out.size() == told + 1);
  two_readings(-0.2, 5);
  REQUIRE(b.out.size() == told + 2);
  CHECK_THAT(lowest(), Contains("\"lowest_c\":-0.2"));
  two_readings(-1, 7);
  CHECK(b.out.size() == told + 2);
  // A week later, without warmth between: how cold it was since, not the frost of before.
  two_readings(4, 180);
  REQUIRE(b.out.size() == told + 3);
  CHECK_THAT(lowest(), Contains("\"lowest_c\":-1.0"));
  two_readings(5, 350);
  REQUIRE(b.out.size() == told + 4);
  CHECK_THAT(lowest(), Contains("\"lowest_c\":4.0"));
}

TEST_CASE("Feed comes back with the close of a night, not in the night in which a chill runs out") {
  TestBench b = at_full_feed();
  b.cold(8, 5);
  const Instant until = b.feeding->chilled_until();
  b.due_until(until + hours(3));
  CHECK(b.share() == kChilled);
  while (b.now() < until) b.one_night(18);
  CHECK(b.percent() == 100);
}

TEST_CASE("A dip is not told of a bench that gets no feed") {
  TestBench b = at_full_feed();
  REQUIRE(b.ask(RequestKind::hold).done);
  const auto told = b.out.size();
  b.cold(9.4, 2);
  b.due_until(b.now() + hours(6));
  CHECK(b.out.size() == told);
}

TEST_CASE("A winter under the floor is told of once a week") {
  TestBench b = at_full_feed();
  for (int night = 0; night < 15; ++night) {
    b.cold(7, 8);
    b.one_night(12);
  }
  const auto told = std::count_if(b.out.begin(), b.out.end(),
                                  [](const Decision& d) { return d.cause == Cause::chill; });
  CHECK(told == 3);
}

TEST_CASE("When a chill is over the strength of before comes back at once") {
  TestBench b = at_full_feed();
  b.cold(8, 5);
  b.one_night(18);
  CHECK(b.share() == kChilled);
  b.one_night(18);
  CHECK(b.percent() == 100);
}

TEST_CASE("Weeks of chill are no weeks of the ramp: the strength of before comes back, not more") {
  TestBench b = at_full_feed();
  b.ask(RequestKind::hold, b.now() + 5 * kDay);
  b.nights(10, 18);
  REQUIRE(b.percent() == 25);
  for (int night = 0; night < 15; ++night) {
    b.cold(7, 8);
    b.one_night(18);
  }
  REQUIRE(b.share() == kChilled);
  while (b.share() == kChilled) b.one_night(18);
  CHECK(b.percent() == 25);
  b.nights(4, 18);
  CHECK(b.percent() == 50);
}

TEST_CASE("Unless the nights say otherwise") {
  TestBench b = at_full_feed(unwatched());
  for (int night = 0; night < 9; ++night) {
    b.cold(8, 5);
    b.one_night(12.5);
  }
  b.nights(3, 12.5);
  CHECK(b.share().cause == Cause::cool_nights);
  CHECK(b.percent() <= 50);
}

TEST_CASE("Whoever ends a chill gets what the season asks for by then") {
  TestBench b = at_full_feed(unwatched());
  for (int night = 0; night < 12; ++night) {
    b.cold(8, 5);
    b.one_night(12.5);
  }
  REQUIRE(b.share() == kChilled);
  REQUIRE(b.ask(RequestKind::end_chill, b.now() + kDay).done);
  CHECK(b.percent() <= 50);
}

TEST_CASE("Under a roof the heating is to be looked at, outdoors it is told in other words") {
  const Position place = GENERATE(Position::indoors, Position::unknown, Position::outdoors);
  TestBench b = at_full_feed();
  b.cold(8, 5, place);
  const std::string text = b.out.back().text();
  const bool outdoors = place == Position::outdoors;
  CHECK((text.find("heating") == std::string::npos) == outdoors);
  CHECK((text.find("The bench was outdoors") != std::string::npos) == outdoors);
  CHECK_THAT(b.out.back().evidence.json(),
             Contains(outdoors ? "\"place\":\"outdoors\"" : "\"place\":\"under a roof\""));
}

TEST_CASE("What a chill was is remembered, wherever the bench is carried during it") {
  TestBench b = at_full_feed();
  const Instant later = b.now() + hours(6);
  SECTION("outdoors, then carried in") {
    b.cold(8, 5, Position::outdoors);
    CHECK(b.feeding->chilled_outdoors());
    b.cold(9.5, 1, Position::indoors, b.now() + hours(1));
    CHECK(b.feeding->chilled_outdoors());
  }
  SECTION("outdoors, and hours later deep under the roof, for a moment") {
    b.cold(8, 5, Position::outdoors);
    b.cold(5, 0.5, Position::indoors, b.now() + hours(12));
    CHECK_FALSE(b.feeding->chilled_outdoors());
  }
  SECTION("outdoors, and under the roof as well") {
    b.cold(8, 5, Position::outdoors);
    b.cold(7, 5, Position::indoors, later);
    CHECK_FALSE(b.feeding->chilled_outdoors());
  }
  SECTION("under the roof, and outdoors as well") {
    b.cold(8, 5, Position::indoors);
    b.cold(7, 5, Position::outdoors, later);
    CHECK_FALSE(b.feeding->chilled_outdoors());
  }
}

TEST_CASE("A chill within a hold neither shortens nor dates it") {
  TestBench b = at_full_feed();
  b.ask(RequestKind::hold, b.now() + 40 * kDay);
  const std::string before = why(b);
  const Instant ends = b.feeding->hold()->planned_end;
  b.cold(6, 5);
  CHECK(b.share() == kChilled);
  CHECK(why(b) == before + " It was chilled below its floor as well.");
  CHECK(b.out.back().text() ==
        "The air fell to 6.0 °C, below the chill floor of 10 °C; plain water is in force already. "
        "Please "
        "check the heating.");
  CHECK(b.feeding->hold()->planned_end == ends);
  b.nights(5, 18);
  CHECK(why(b) == before);
}

TEST_CASE("The grower ends a chill until a time") {
  TestBench b = at_full_feed();
  CHECK(b.ask(RequestKind::end_chill, b.now() + kDay).problem == "no-chill");
  b.cold(8.5, 8);
  REQUIRE(b.share() == kChilled);
  CHECK(b.ask(RequestKind::end_chill).problem == "until-missing");
  CHECK(b.ask(RequestKind::end_chill, b.now()).problem == "until-in-the-past");
  CHECK(b.ask(RequestKind::end_chill, b.now() + 8 * kDay).problem == "too-far-ahead");
  const Reply reply = b.ask(RequestKind::end_chill, b.now() + 3 * kDay);
  CHECK(reply.done);
  CHECK_THAT(reply.text(), Contains("Ada ended the plain water of the chill") &&
                               Contains("less than 3 °C below the floor") && Contains("Full feed"));
  CHECK(b.percent() == 100);
  CHECK(b.out.back().cause == Cause::grower);
  CHECK(b.count(DecisionKind::notice) == 0);
  b.one_night(18);
  b.cold(8, 8);
  CHECK(b.percent() == 100);
  SECTION("but not for deep cold") {
    b.cold(6.9, 0.3, Position::unknown, b.now() + hours(1));
    CHECK(b.feeding->effective(b.now() + hours(1)) == kChilled);
  }
  SECTION("nor for longer") {
    b.nights(2, 18);
    b.cold(8, 8);
    CHECK(b.share() == kChilled);
  }
}

TEST_CASE("Deep cold cannot be let pass, whatever counts as deep in the settings") {
  DropRules rules;
  rules.chill_deep_c = 5;
  TestBench b(rules);
  b.nights(45, 18);
  b.cold(6.5, 3);
  REQUIRE(b.share() == kChilled);
  CHECK(b.ask(RequestKind::end_chill, b.now() + kDay).problem == "too-cold");
  b.due_until(b.now() + hours(7));
  b.night += 1;
  CHECK(b.ask(RequestKind::end_chill, b.now() + kDay).done);
  b.cold(6.5, 3);
  CHECK(b.share() == kChilled);
}

TEST_CASE("A release without a hold says what is in force") {
  TestBench b = at_full_feed();
  CHECK(b.ask(RequestKind::release).text() ==
        "no hold is in force on this bench; it gets feed at 100 %: nights are warm enough and "
        "days not yet short");
  b.cold(8, 8);
  CHECK_THAT(b.ask(RequestKind::release).text(),
             Contains("it gets plain water until") && Contains("`end-chill` ends"));
  TestBench fresh;
  CHECK_THAT(fresh.ask(RequestKind::release).text(),
             Contains("it gets plain water: no night of this bench has been recorded yet"));
}

TEST_CASE("A chill runs out by a believed clock only, and a dip waits with it") {
  TestBench b = at_full_feed();
  b.cold(8, 8);
  b.feeding->allow_release(false);
  b.nights(5, 18);
  CHECK(b.share() == kChilled);
  b.feeding->allow_release(true);
  b.one_night(18);
  CHECK(b.percent() == 100);
}
