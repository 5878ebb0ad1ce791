// What the filter believes of a bench's place, by its air. Behaviour only: how sure it is at which
// minute is tuned elsewhere.
#include <catch2/catch.hpp>

#include "carried_bench.h"

using namespace plainwater;
using namespace plainwater::season;

namespace {

/// A bench whose looks go to a filter alone, without anything said about them.
struct Believed : CarriedBench {
  PositionFilter alone;
  Position told = Position::unknown;
  Believed(int references) : CarriedBench(CarriedBench::with(references)) {}
  /// The largest probability of `where` on the way.
  double run(double hours, Position where = Position::outdoors) {
    double most = 0;
    for (const Instant until = now + from_days(hours / 24); now < until;) {
      alone.take(next(), told, rules);
      most = std::max(most, alone.probability(where));
    }
    return most;
  }
};

}  // namespace

TEST_CASE("Before the first look both places are as likely, and nothing is known of a move") {
  const PositionFilter filter;
  CHECK(filter.outdoors() == 0.5);
  CHECK(filter.entered(Position::indoors) == kNever);
  CHECK(filter.entered(Position::outdoors) == kNever);
  CHECK(filter.last_look() == kNever);
}

TEST_CASE(
    "A bench that is carried to the other air is seen there, with both references, with one, with "
    "none") {
  const int references = GENERATE(2, 1, 0);
  INFO(references << " references");
  Believed bench(references);
  bench.run(5 * 24);
  CHECK(bench.alone.outdoors() < 0.1);
  bench.place = Position::outdoors;
  const Instant moved = bench.now;
  bench.run(4);
  CHECK(bench.alone.outdoors() > 0.9);
  CHECK(std::abs(hours_of(bench.alone.entered(Position::outdoors) - moved)) < 1);
  bench.run(2 * 24);
  CHECK(bench.alone.outdoors() > 0.5);
  bench.place = Position::indoors;
  bench.run(4);
  CHECK(bench.alone.outdoors() < 0.1);
}

TEST_CASE("A bench that stays is believed to stay, for weeks") {
  const int references = GENERATE(2, 1, 0);
  INFO(references << " references");
  Believed indoors(references);
  indoors.run(24);
  CHECK(indoors.run(28 * 24) < 0.5);
  if (references == 0)
    return;  // outdoors without any reference is no more than a guess by the level
  Believed outdoors(references);
  outdoors.place = Position::outdoors;
  outdoors.run(24);
  CHECK(outdoors.run(28 * 24, Position::indoors) < 0.5);
}

TEST_CASE("Looks closer than five minutes are passed over, and so is an older one") {
  Believed bench(2);
  bench.run(24);
  const double before = bench.alone.outdoors();
  Sighting soon = bench.next();
  soon.time = bench.alone.last_look() + minutes(4);
  CHECK_FALSE(bench.alone.take(soon, Position::unknown, bench.rules));
  soon.time = bench.alone.last_look() - minutes(30);
  CHECK_FALSE(bench.alone.take(soon, Position::unknown, bench.rules));
  CHECK(bench.alone.outdoors() == before);
}

TEST_CASE("How the bench's air differs from the references is learnt where it stands") {
  Believed bench(2);
  bench.outdoor_offset_c = 2;
  bench.place = Position::outdoors;
  bench.run(10 * 24);
  CHECK(bench.alone.usual_outdoor_c() > 1);
  CHECK(bench.alone.usual_outdoor_c() < 3);
  CHECK(std::abs(bench.alone.usual_indoor_c()) < 0.3);  // it was not there
  Believed inside(2);
  inside.indoor_offset_c = -1;
  inside.run(10 * 24);
  CHECK(inside.alone.usual_indoor_c() < -0.4);
  CHECK(inside.alone.usual_indoor_c() > -1.5);
  CHECK(std::abs(inside.alone.usual_outdoor_c()) < 0.3);
}

TEST_CASE("What is learnt has bounds, so that one place cannot become the other") {
  Believed bench(2);
  bench.told = Position::outdoors;  // somebody says so against all that the air says
  bench.run(20 * 24);
  CHECK(bench.alone.usual_outdoor_c() > 1);
  CHECK(bench.alone.usual_outdoor_c() < 6);
  Believed inside(2);
  inside.told = Position::indoors;
  inside.place = Position::outdoors;
  inside.run(20 * 24);
  CHECK(inside.alone.usual_indoor_c() < -0.5);
  CHECK(inside.alone.usual_indoor_c() > -4);
}

TEST_CASE("The usual level outdoors is learnt where there is no reference") {
  Believed bench(0);
  bench.place = bench.told = Position::outdoors;
  bench.outdoor_c = 4;
  bench.run(14 * 24);
  CHECK(bench.alone.usual_outdoor_c() < 8);
  CHECK(bench.alone.usual_indoor_c() == Approx(20));
  CHECK_FALSE(bench.alone.has_outdoor());
}

TEST_CASE("A reference that goes and comes back moves no bench") {
  Believed bench(2);
  bench.place = GENERATE(Position::indoors, Position::outdoors);
  const Position other = bench.place == Position::indoors ? Position::outdoors : Position::indoors;
  bench.run(3 * 24);
  for (int i = 0; i < 6; ++i) {
    bench.has_outdoor = i % 2 == 1;
    CHECK(bench.run(18, other) < 0.5);
    bench.has_outdoor = true;
    bench.has_indoor = i % 2 == 0;
    CHECK(bench.run(18, other) < 0.5);
    bench.has_indoor = true;
    CHECK(bench.run(18, other) < 0.5);
  }
}

TEST_CASE("One wild value is not believed") {
  const int references = GENERATE(2, 1, 0);
  INFO(references << " references");
  Believed bench(references);
  bench.run(3 * 24);
  for (const double wild_c : {-5.0, 2.0, 8.0, 35.0, 59.0}) {
    Sighting look = bench.next();
    look.bench_c = wild_c;
    bench.alone.take(look, Position::unknown, bench.rules);
    bench.run(2);
    CHECK(bench.alone.outdoors() < 0.5);
    bench.run(12);
  }
}

TEST_CASE("With a word the probability is the word's") {
  Believed bench(2);
  bench.run(24);
  bench.alone.believe(Position::outdoors, bench.now - hours(1));
  CHECK(bench.alone.outdoors() > 0.9);
  CHECK(bench.alone.entered(Position::outdoors) == bench.now - hours(1));
  bench.told = Position::outdoors;
  CHECK(bench.run(3 * 24, Position::indoors) < 0.1);
}

TEST_CASE("Looks that are days apart are taken for what they are") {
  Believed bench(2);
  bench.run(3 * 24);
  bench.now += 6 * kDay;
  bench.run(1);
  CHECK(bench.alone.outdoors() < 0.5);
  bench.now += 6 * kDay;
  bench.place = Position::outdoors;
  bench.now += hours(3);
  bench.run(4);
  CHECK(bench.alone.outdoors() > 0.5);
}

TEST_CASE("Nothing that can be read makes the filter lose its figures") {
  Believed bench(2);
  for (int i = 0; i < 3000; ++i) {
    Sighting s = bench.next();
    s.bench_c = -30 + 90 * std::abs(bench.random());
    s.outdoor_c = i % 7 == 0 ? s.outdoor_c : -30 + 90 * std::abs(bench.random());
    if (i % 11 == 0) s.indoor_c = std::numeric_limits<double>::quiet_NaN();
    if (i % 50 == 0) bench.now += kDay * (i % 400);
    bench.alone.take(s,
                     i % 5 == 0    ? Position::outdoors
                     : i % 13 == 0 ? Position::indoors
                                   : Position::unknown,
                     bench.rules);
    REQUIRE(bench.alone.outdoors() > 0);
    REQUIRE(bench.alone.outdoors() < 1);
    REQUIRE(std::isfinite(bench.alone.usual_outdoor_c()));
    REQUIRE(std::isfinite(bench.alone.usual_indoor_c()));
  }
  bench.run(3 * 24);
  CHECK(bench.alone.outdoors() < 0.5);
}

TEST_CASE("A room that the sun warms stays a room, however often it is read") {
  const int references = GENERATE(2, 1, 0);
  const int every_min = GENERATE(5, 10, 30, 60);
  const bool humid = GENERATE(false, true);
  INFO(references << " references, every " << every_min << " minutes, humidity " << humid);
  Believed bench(references);
  bench.interval = minutes(every_min);
  bench.has_humidity = humid;
  bench.run(4 * 24 + 8);
  bench.bench_sun_c = 6;
  CHECK(bench.run(5 * 24) < 0.98);  // less than a move takes
  CHECK(bench.alone.outdoors() < 0.05);
}

TEST_CASE("Sun in the reference's room is no move of the bench") {
  const int every_min = GENERATE(5, 10, 30, 60);
  INFO("every " << every_min << " minutes");
  Believed bench(2);
  bench.interval = minutes(every_min);
  bench.outdoor_c = 12;
  bench.run(4 * 24 + 8);
  bench.reference_sun_c = 6;
  CHECK(bench.run(5 * 24) < 0.5);
}

TEST_CASE("The same rise speaks for a room by day and against it in the dark") {
  const int references = GENERATE(2, 1, 0);
  INFO(references << " references");
  Believed day(references), night(references);
  night.sunny = false;
  for (Believed* bench : {&day, &night}) {
    bench->outdoor_c = 21;
    bench->run(4 * 24 + 9);
    bench->bench_sun_c = 4;
  }
  CHECK(day.run(6) < night.run(6));
}

TEST_CASE("A bench that is carried on a sunny day is seen all the same") {
  const int references = GENERATE(2, 1, 0);
  INFO(references << " references");
  Believed bench(references);
  bench.bench_sun_c = 4;
  bench.outdoor_c = 6;
  bench.run(6 * 24 + 11);
  bench.place = Position::outdoors;
  bench.run(3);
  CHECK(bench.alone.outdoors() > 0.9);
  bench.place = Position::indoors;
  bench.run(5);
  CHECK(bench.alone.outdoors() < 0.1);
}

TEST_CASE("Other vapour makes a move sooner believed, the same vapour later") {
  double sure[2];
  for (const bool other : {false, true}) {
    Believed bench(1);
    bench.has_humidity = true;
    bench.outdoor_c = 15;
    bench.run(6 * 24 + 12);
    bench.place = Position::outdoors;
    if (other) bench.outdoor_kpa = 1.4;
    bench.run(0.4);
    sure[other] = bench.alone.outdoors();
  }
  CHECK(sure[1] > sure[0]);
}

TEST_CASE("Without an indoor reference a room is expected to follow the weather's mean in part") {
  Believed bench(1);
  bench.told = Position::indoors;
  bench.indoor_c = 22;
  bench.indoor_offset_c = 0;
  bench.outdoor_c = 20;
  bench.run(20 * 24);
  CHECK(bench.alone.usual_indoor_c() == Approx(20).margin(0.4));  // and 2 for the weather
  bench.outdoor_c = 5;
  bench.run(20 * 24);
  CHECK(bench.alone.usual_indoor_c() == Approx(22).margin(0.4));
}

TEST_CASE(
    "Without references, an evening that keeps its warmth is indoors and one that cools is not") {
  for (const bool out : {false, true}) {
    INFO((out ? "outdoors" : "indoors"));
    Believed bench(0);
    bench.place = out ? Position::outdoors : Position::indoors;
    bench.indoor_c = 25.5;
    bench.outdoor_c = 20;
    bench.outdoor_swing_c = 7;
    bench.run(12 * 24);
    CHECK((out ? bench.alone.outdoors() : 1 - bench.alone.outdoors()) > 0.9);
  }
}
