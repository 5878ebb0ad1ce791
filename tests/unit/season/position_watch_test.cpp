// What is said about a bench's place, and whose word counts.
#include <catch2/catch.hpp>

#include "carried_bench.h"
#include "positions.h"

using namespace plainwater;
using namespace plainwater::season;

namespace {}

TEST_CASE("At first nothing is known, then a place, and that is no move") {
  CarriedBench bench;
  CHECK(bench.watch.position() == Position::unknown);
  CHECK(bench.watch.last_known() == Position::unknown);
  CHECK(bench.watch.probability() == 0);
  bench.run(24);
  CHECK(bench.watch.position() == kIn);
  REQUIRE(bench.changes.size() == 1);
  CHECK(bench.changes[0].from == Position::unknown);
  CHECK(bench.changes[0].to == kIn);
  CHECK_FALSE(bench.changes[0].moved());
  CHECK(bench.changes[0].told == Told::by_air);
}

TEST_CASE("A move is said once, within hours, and when it was is told within an hour") {
  const int references = GENERATE(2, 1, 0);
  INFO(references << " references");
  for (std::uint32_t seed = 1; seed <= 8; ++seed) {
    CarriedBench bench = CarriedBench::with(references);
    bench.noise = seed;
    bench.run(4 * 24 + 3 * seed);
    REQUIRE(bench.watch.position() == kIn);
    bench.place = kOut;
    const Instant moved = bench.now;
    bench.run(12);
    REQUIRE(bench.moves() == 1);
    const PlaceChange change = bench.changes.back();
    CHECK(change.from == kIn);
    CHECK(change.to == kOut);
    CHECK(change.time >= moved);
    CHECK(hours_of(change.time - moved) <= 6);
    CHECK(std::abs(hours_of(change.since - moved)) <= 1);
    CHECK(change.since <= change.time);
    CHECK(bench.watch.since() == change.since);
    CHECK(change.probability > 0.5);
  }
}

TEST_CASE("A bench that stays gives no change over weeks") {
  const int references = GENERATE(2, 1, 0);
  INFO(references << " references");
  CarriedBench bench = CarriedBench::with(references);
  bench.run(24);
  const std::size_t before = bench.changes.size();
  bench.run(42 * 24);
  CHECK(bench.changes.size() == before);
  CHECK(bench.watch.position() == kIn);
}

TEST_CASE("A single wild reading is no move") {
  const int references = GENERATE(2, 1, 0);
  INFO(references << " references");
  CarriedBench bench = CarriedBench::with(references);
  bench.run(3 * 24);
  for (const double wild_c : {-8.0, 3.0, 8.0, 40.0}) {
    Sighting look = bench.next();
    look.bench_c = wild_c;
    bench.look(look);
    bench.run(12);
  }
  CHECK(bench.moves() == 0);
  CHECK(bench.watch.position() == kIn);
}

TEST_CASE("Where both airs are the same no move is ever said, and the place is kept or unknown") {
  const bool carried = GENERATE(false, true);
  INFO((carried ? "carried" : "not carried"));
  CarriedBench bench;
  bench.run(3 * 24);
  REQUIRE(bench.watch.position() == kIn);
  bench.outdoor_swing_c = 0.8;
  bench.indoor_offset_c = bench.outdoor_offset_c = 0;
  for (int day = 0; day < 20; ++day) {
    bench.outdoor_c = bench.indoor_c - std::max(0.0, 10.0 - 2 * day);  // as slowly as weather does
    if (carried && day > 6) bench.place = day % 2 == 0 ? kIn : kOut;
    bench.run(24);
    if (day >= 6) CHECK(bench.watch.position() != kOut);
  }
  CHECK(bench.moves() == 0);
  CHECK(bench.watch.last_known() == kIn);
}

TEST_CASE(
    "When it cannot be told, the place is unknown with the last one and its probability, and it "
    "comes back without a move") {
  CarriedBench bench;
  bench.run(3 * 24);
  for (int h = 0; h < 200 && bench.watch.position() != Position::unknown; ++h) {
    for (int i = 0; i < 6; ++i) {
      Sighting look = bench.next();
      look.bench_c =
          (look.outdoor_c + look.indoor_c) / 2 + bench.random();  // neither here nor there
      bench.look(look);
      if (bench.watch.position() == Position::unknown) break;
    }
  }
  REQUIRE(bench.watch.position() == Position::unknown);
  const PlaceChange lost = bench.changes.back();
  CHECK(lost.to == Position::unknown);
  CHECK_FALSE(lost.moved());
  CHECK(lost.since == kNever);
  CHECK(lost.probability < 1);
  CHECK(bench.watch.last_known() == lost.from);
  CHECK(bench.watch.probability() > 0);
  bench.place = lost.from;
  const int moves = bench.moves();
  bench.run(3 * 24);
  CHECK(bench.watch.position() == lost.from);
  CHECK(bench.moves() == moves);
}

TEST_CASE("A person's word stands for a day against the air, and then the air wins") {
  CarriedBench bench;
  bench.run(3 * 24);
  const auto change = bench.watch.declare(kOut, bench.now - hours(2), bench.now);
  REQUIRE(change);
  CHECK(change->moved());
  CHECK(change->told == Told::by_person);
  CHECK(change->since == bench.now - hours(2));
  CHECK(change->probability == 1);
  const std::size_t before = bench.changes.size();
  bench.run(23.8);
  CHECK(bench.changes.size() == before);
  CHECK(bench.watch.position() == kOut);
  CHECK(bench.watch.told() == Told::by_person);
  bench.run(3 * 24);
  CHECK(bench.watch.position() == kIn);
  CHECK(bench.watch.told() == Told::by_air);
}

TEST_CASE("A contact's word stands for ever, until its next") {
  CarriedBench bench;
  bench.run(3 * 24);
  REQUIRE(bench.watch.contact(kOut, bench.now, bench.now));
  const std::size_t before = bench.changes.size();
  bench.run(21 * 24);
  CHECK(bench.changes.size() == before);
  CHECK(bench.watch.position() == kOut);
  CHECK(bench.watch.probability() == 1);
  CHECK_FALSE(bench.watch.unseen(bench.now + 30 * kDay, bench.rules));
  const auto back = bench.watch.contact(kIn, bench.now, bench.now + minutes(10));
  REQUIRE(back);
  CHECK(back->moved());
  CHECK(back->told == Told::by_contact);
  CHECK(back->since == bench.now);
}

TEST_CASE("A word that says what is known changes nothing, and stands all the same") {
  CarriedBench bench;
  bench.run(3 * 24);
  CHECK_FALSE(bench.watch.declare(kIn, bench.now, bench.now));
  CHECK_FALSE(bench.watch.contact(kIn, bench.now, bench.now));
  CHECK(bench.watch.told() == Told::by_contact);
  bench.place = kOut;
  bench.run(7 * 24);
  CHECK(bench.watch.position() == kIn);
}

TEST_CASE("A person who says the same as the contact does not shorten its word") {
  CarriedBench bench;
  bench.run(3 * 24);
  bench.watch.contact(kOut, bench.now, bench.now);
  CHECK_FALSE(bench.watch.declare(kOut, bench.now, bench.now));
  bench.run(5 * 24);
  CHECK(bench.watch.position() == kOut);
  // Who says otherwise is believed for a day, and then the air.
  CHECK(bench.watch.declare(kIn, bench.now, bench.now));
  CHECK(bench.watch.position() == kIn);
}

TEST_CASE("A contact's word that comes late does not undo a newer one") {
  CarriedBench bench;
  bench.run(24);
  const Instant t = bench.now;
  REQUIRE(bench.watch.contact(kOut, t, t + minutes(10)));
  CHECK_FALSE(bench.watch.contact(kIn, t - minutes(40), t + minutes(50)));
  CHECK(bench.watch.position() == kOut);
  // Nor does it undo a person's word about a later carrying.
  REQUIRE(bench.watch.declare(kIn, t + hours(3), t + hours(4)));
  CHECK_FALSE(bench.watch.contact(kOut, t + hours(2), t + hours(5)));
  CHECK(bench.watch.position() == kIn);
  CHECK(bench.watch.contact(kOut, t + hours(6), t + hours(6)));
}

TEST_CASE("What was doubted before a word is not held against it when the word has run out") {
  CarriedBench bench;
  bench.run(3 * 24);
  Sighting look = bench.next();
  look.bench_c = (look.outdoor_c + look.indoor_c) / 2;  // doubt begins
  for (int i = 0; i < 3; ++i, look.time += minutes(10), bench.now = look.time) bench.look(look);
  bench.watch.declare(kIn, bench.now, bench.now);
  bench.changes.clear();
  bench.run(26);
  CHECK(bench.changes.empty());
}

TEST_CASE("A preset that is quieter is not sooner") {
  for (std::uint32_t seed = 1; seed <= 10; ++seed) {
    const int references = static_cast<int>(seed % 3);
    INFO("seed " << seed << ", " << references << " references");
    double took[3];
    const MovePreset presets[3] = {MovePreset::fast, MovePreset::balanced, MovePreset::quiet};
    for (int i = 0; i < 3; ++i) {
      CarriedBench bench = CarriedBench::with(references);
      bench.rules.preset = presets[i];
      bench.noise = seed;
      bench.outdoor_c = 12;
      bench.run(3 * 24 + 5 * seed);
      REQUIRE(bench.watch.last_known() == kIn);
      bench.place = kOut;
      took[i] = bench.hours_until(kOut, 24);
    }
    CHECK(took[0] <= took[1]);
    CHECK(took[1] <= took[2]);
  }
}

TEST_CASE("Settings for how sure it must be count above the preset") {
  double took[2];
  for (int i = 0; i < 2; ++i) {
    CarriedBench bench;
    bench.outdoor_c = 15;
    bench.rules.sure = i == 0 ? 0.6 : 0.9985;
    bench.rules.at_once = i == 0 ? 0.65 : 0.9989;
    bench.run(3 * 24);
    bench.place = kOut;
    took[i] = bench.hours_until(kOut, 24);
  }
  CHECK(took[0] < took[1]);
}

TEST_CASE(
    "Unseen for as long as the settings say the place is unknown; seen again it is known without a "
    "move") {
  CarriedBench bench;
  bench.run(3 * 24);
  const Instant seen = bench.now;
  CHECK_FALSE(bench.watch.unseen(seen + hours(23), bench.rules));
  const auto lost = bench.watch.unseen(seen + hours(24), bench.rules);
  REQUIRE(lost);
  CHECK(lost->from == kIn);
  CHECK(lost->to == Position::unknown);
  CHECK(bench.watch.last_known() == kIn);
  CHECK_FALSE(bench.watch.unseen(seen + hours(48), bench.rules));  // said once
  bench.now += kDay * 2;
  bench.run(24);
  CHECK(bench.watch.position() == kIn);
  CHECK(bench.moves() == 0);
}

TEST_CASE("A bench that was carried while nobody saw it is a move when it is seen") {
  CarriedBench bench;
  bench.run(3 * 24);
  const Instant seen = bench.now;
  bench.watch.unseen(seen + 2 * kDay, bench.rules);
  bench.now += 2 * kDay;
  bench.place = kOut;
  bench.run(12);
  REQUIRE(bench.moves() == 1);
  CHECK(bench.changes.back().from == kIn);
  CHECK(bench.changes.back().since >= seen);
}

TEST_CASE("A room in the sun is said to be none but a room, however often it is read") {
  const int references = GENERATE(2, 1, 0);
  const int every_min = GENERATE(5, 10, 30, 60);
  INFO(references << " references, every " << every_min << " minutes");
  CarriedBench bench = CarriedBench::with(references);
  bench.interval = minutes(every_min);
  bench.run(4 * 24 + 8);
  REQUIRE(bench.watch.position() == kIn);
  bench.bench_sun_c = bench.reference_sun_c = 6;
  bench.run(10 * 24);
  bench.reference_sun_c = 0;
  bench.run(5 * 24);
  CHECK(bench.moves() == 0);
  CHECK(bench.watch.last_known() == kIn);
}
