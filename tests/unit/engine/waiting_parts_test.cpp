// What waits for its time: cold air, readings from the future, looks at places.
#include "engine/bench_places.h"
#include "engine/cold_air.h"
#include "engine/looks.h"
#include "engine/quarantine.h"
#include "house_parts.h"

using namespace plainwater;
using namespace plainwater::engine;

namespace {

/// What comes back of what was saved, under other settings when they are given.
template <class Part>
void restore(const Part& saved, Part& into, const Settings& under, const Settings& now_under) {
  ByteWriter bytes;
  saved.save(bytes, under);
  const std::string text = bytes.take();
  ByteReader in(text);
  into.load(in, now_under);
  REQUIRE(in.ok());
  REQUIRE(in.at_end());
}

}  // namespace

TEST_CASE("Air that is cold for a bench where the sensor stands waits for the reorder window") {
  HouseParts h;
  ColdAir cold;
  const double floor_c = chill_floor_c(h.settings.benches[0]);
  CHECK_FALSE(cold.add(h.reading(0, h.now, floor_c), h.now, h.settings));
  CHECK_FALSE(cold.add(h.reading(4, h.now, floor_c - 5), h.now, h.settings));  // a reference
  CHECK(cold.due() == kForever);
  CHECK(cold.add(h.reading(0, h.now, floor_c - 1), h.now, h.settings) == h.now + kReorderWindow);
  CHECK(cold.add(h.reading(1, h.now - hours(1), floor_c - 1), h.now, h.settings) == h.now);
  CHECK(cold.due() == h.now);
}

TEST_CASE("Cold air chills a bench when the reading before bears witness") {
  for (const bool witness : {true, false}) {
    CAPTURE(witness);
    HouseParts h;
    ColdAir cold;
    const double cold_c = chill_floor_c(h.settings.benches[0]) - 4;
    for (std::uint32_t s : {0u, 1u}) {
      h.reads(s, h.now - minutes(10), witness ? cold_c : 18);
      h.reads(s, h.now, cold_c);
    }
    cold.add(h.reading(0, h.now, cold_c), h.now, h.settings);
    h.now = cold.due();
    cold.judge_next(h.sensors, h.turn());
    CHECK(h.benches[0].feeding.chilled() == witness);
    CHECK_FALSE(h.benches[1].feeding.chilled());
    CHECK(cold.due() == kForever);
  }
}

TEST_CASE("Cold air is kept by its sensor's name") {
  HouseParts h;
  ColdAir cold, same, gone;
  cold.add(h.reading(0, h.now, 1), h.now, h.settings);
  restore(cold, same, h.settings, h.settings);
  CHECK(same.due() == cold.due());
  Settings others = h.settings;
  others.sensors[0].name = "another";
  restore(cold, gone, h.settings, others);
  CHECK(gone.due() == kForever);
}

TEST_CASE("Readings from the future come back in the order of their times") {
  HouseParts h;
  Quarantine quarantine;
  CHECK(quarantine.due() == kForever);
  const Instant later = h.now + hours(2), sooner = h.now + hours(1);
  CHECK(quarantine.add(h.reading(0, later, 18), 10) == later - kFutureTolerance);
  CHECK(quarantine.add(h.reading(2, sooner, 19), 10) == sooner - kFutureTolerance);
  Quarantine restored;
  restore(quarantine, restored, h.settings, h.settings);
  CHECK(restored.take() == h.reading(2, sooner, 19));
  CHECK(restored.take() == h.reading(0, later, 18));
  CHECK(restored.due() == kForever);
}

TEST_CASE("Of a sensor's readings from the future those that wait longest go first") {
  HouseParts h;
  Quarantine quarantine;
  const auto add = [&](std::uint32_t sensor, int minutes_ahead) {
    return quarantine.add(h.reading(sensor, h.now + minutes(minutes_ahead), 18), 3).has_value();
  };
  for (const int ahead : {40, 90, 60}) CHECK(add(1, ahead));
  CHECK_FALSE(add(1, 91));
  CHECK(add(1, 50));  // instead of 90
  CHECK_FALSE(add(1, 70));
  CHECK(add(0, 5000));  // another's room is its own
  Quarantine restored;
  restore(quarantine, restored, h.settings, h.settings);
  for (Quarantine* one : {&quarantine, &restored}) {
    for (const int ahead : {40, 50, 60, 5000}) {
      REQUIRE(one->due() == h.now + minutes(ahead) - kFutureTolerance);
      one->take();
    }
    CHECK(one->due() == kForever);
  }
}

TEST_CASE("A sensor that gets less room gives up no more than it has to") {
  HouseParts h;
  Quarantine quarantine;
  for (int i = 1; i <= 10; ++i)
    REQUIRE(quarantine.add(h.reading(1, h.now + minutes(10 * i), 18), 10));
  CHECK_FALSE(quarantine.add(h.reading(1, h.now + minutes(45), 18), 4));
  CHECK(quarantine.add(h.reading(1, h.now + minutes(35), 18), 4));
  for (const int ahead : {10, 20, 30, 35}) {
    REQUIRE(quarantine.due() == h.now + minutes(ahead) - kFutureTolerance);
    quarantine.take();
  }
  CHECK(quarantine.due() == kForever);
}

TEST_CASE("Sensors share the room for readings from the future fairly, however many they are") {
  CHECK(Quarantine::room(0) == 3000);
  CHECK(Quarantine::room(3) == 3000);
  CHECK(Quarantine::room(400) == 1000);
  CHECK(Quarantine::room(1'000'000) == 100);
}

TEST_CASE("A look is kept once, for the benches whose place the reading tells") {
  HouseParts h;
  Looks looks(h.settings);
  looks.await(h.reading(2, h.now, 18), h.now, h.settings, h.benches);  // mist never moves
  CHECK(looks.due() == kForever);
  looks.await(h.reading(0, h.now, 18), h.now, h.settings, h.benches);
  looks.await(h.reading(1, h.now, 18), h.now, h.settings, h.benches);
  Looks restored(h.settings);
  restore(looks, restored, h.settings, h.settings);
  CHECK(restored.due() == h.now + kReorderWindow);
  const Look look = restored.take();
  CHECK(look.bench == 0);
  CHECK(look.word == Position::unknown);
  CHECK(restored.due() == kForever);
}

TEST_CASE("A contact's word that a newer one follows within the window is a bounce") {
  HouseParts h;
  Looks looks(h.settings);
  const auto says = [&](Instant t, Milli word) {
    looks.await({SensorId(3), Quantity::place, t, word}, h.now, h.settings, h.benches);
  };
  says(h.now, 1000);
  says(h.now + minutes(5), 0);
  const Look first = looks.take();
  CHECK(first.word == Position::outdoors);
  CHECK(looks.bounced(first));
  take_look(first, looks, h.sensors, h.turn());
  CHECK(h.out.decisions.empty());
  const Look last = looks.take();
  CHECK_FALSE(looks.bounced(last));
  take_look(last, looks, h.sensors, h.turn());
  CHECK(place_of(h.settings.benches[0], h.benches[0]) == Position::indoors);
}
