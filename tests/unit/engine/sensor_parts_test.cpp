// One sensor's silence, where sensors stand, and the air that they tell now.
#include "engine/live_air.h"
#include "engine/sensor_places.h"
#include "house_parts.h"

using namespace plainwater;
using namespace plainwater::engine;
using climate::Doubt;

TEST_CASE("A silence ends when the sensor has spoken again for long enough") {
  HouseParts h;
  SensorState& sensor = h.sensors[0];
  const SensorRules& rules = h.settings.watch;
  CHECK(sensor.silence_due(rules) == kForever);
  h.reads(0, h.now, 18);
  sensor.fall_silent(h.now);
  CHECK(sensor.silence_due(rules) == kForever);
  const Instant back = h.now + hours(5);
  h.reads(0, back + minutes(10), 18);
  h.reads(0, back, 18);  // came later, was earlier
  const Instant due = back + from_days(rules.trusted_after_h / 24);
  CHECK(sensor.silence_due(rules) == due);
  for (Instant t = back; t <= due; t += minutes(10)) h.reads(0, t, 18);
  CHECK(sensor.judge_silence(due, rules) == Doubt::silent);
  CHECK(sensor.watch.doubt == Doubt::none);
}

TEST_CASE("A sensor that spoke once and fell silent again stays doubted") {
  HouseParts h;
  SensorState& sensor = h.sensors[0];
  const SensorRules& rules = h.settings.watch;
  sensor.fall_silent(h.now);
  h.reads(0, h.now + hours(5), 18);
  const Instant due = h.now + hours(5) + hours(4);
  CHECK_FALSE(sensor.judge_silence(due, rules));
  CHECK(sensor.watch.doubt == Doubt::silent);
  CHECK(sensor.silence_due(rules) == kForever);
}

TEST_CASE("A sensor that falls silent is doubted since its newest reading") {
  HouseParts h;
  h.reads(0, h.now, 18);
  CHECK(h.sensors[0].judge_silence(h.now + kDay, h.settings.watch) == Doubt::none);
  CHECK(h.sensors[0].watch.doubt == Doubt::silent);
  CHECK(h.sensors[0].watch.doubted_since == h.now);
}

TEST_CASE("A sensor stands where the settings say") {
  const HouseParts h;
  CHECK(on_bench(h.settings.benches[0], 1));
  CHECK_FALSE(on_bench(h.settings.benches[0], 2));
  CHECK(bench_of(h.settings, 2) == "mist");
  CHECK(bench_of(h.settings, 4).empty());
  CHECK(tells_air(h.settings, 0));
  CHECK(tells_air(h.settings, 4));        // a reference
  CHECK_FALSE(tells_air(h.settings, 3));  // a contact
}

TEST_CASE("The air now is what trusted sensors told lately") {
  HouseParts h;
  const Bench& bench = h.settings.benches[0];
  const auto celsius = [&] { return live_air(bench, h.sensors, h.now, h.settings.watch); };
  CHECK(std::isnan(celsius().temperature_c));
  CHECK(celsius().time == kNever);
  h.reads(0, h.now - minutes(20), 18);
  h.reads(1, h.now - minutes(10), 20);
  CHECK(celsius().temperature_c == Approx(19));
  CHECK(celsius().time == h.now - minutes(10));
  h.sensors[1].watch.doubt = Doubt::drifting;
  CHECK(celsius().temperature_c == Approx(18));
  h.reads(0, h.now + minutes(5), 30);  // has not happened yet
  CHECK(celsius().temperature_c == Approx(18));
  h.now += kDay;
  CHECK(std::isnan(celsius().temperature_c));
}

TEST_CASE("A humidity that no air has is not the air now") {
  HouseParts h;
  const auto tells = [&](Instant t, double percent) {
    h.sensors[0].add({SensorId(0), Quantity::humidity, t, to_milli(percent)});
  };
  const auto humidity = [&] {
    return live_air(h.settings.benches[0], h.sensors, h.now, h.settings.watch).humidity_rh;
  };
  tells(h.now - minutes(5), 171);
  CHECK(std::isnan(humidity()));
  tells(h.now - minutes(20), 63);
  tells(h.now - minutes(2), -12);
  CHECK(humidity() == Approx(63));
  h.now += kDay;
  CHECK(std::isnan(humidity()));
}

TEST_CASE("A sighting tells a bench's air beside the references it does not stand on") {
  HouseParts h;
  h.reads(0, h.now, 15);
  h.reads(4, h.now - hours(2), 9);
  auto seen = sight(h.settings.benches[0], h.sensors, h.now, h.settings);
  CHECK(seen.bench_c == Approx(15));
  CHECK(seen.outdoor_c == Approx(9));
  CHECK(std::isnan(seen.indoor_c));
  h.settings.site.outdoor_reference = "long-b";
  h.reads(1, h.now, 12);
  seen = sight(h.settings.benches[0], h.sensors, h.now, h.settings);
  CHECK(std::isnan(seen.outdoor_c));
}

TEST_CASE("A sighting tells the humidity that was read with the temperature, and the sun") {
  HouseParts h;
  const auto seen = [&] { return sight(h.settings.benches[0], h.sensors, h.now, h.settings); };
  const auto tells = [&](std::uint32_t sensor, Instant t, double percent) {
    h.sensors[sensor].add({SensorId(sensor), Quantity::humidity, t, to_milli(percent)});
  };
  h.reads(0, h.now, 15);
  CHECK(std::isnan(seen().humidity_rh));
  tells(0, h.now - minutes(10), 40);  // another reading's
  CHECK(std::isnan(seen().humidity_rh));
  tells(0, h.now + seconds(20), 63);  // the same one's, in a message of its own
  CHECK(seen().humidity_rh == Approx(63));
  tells(0, h.now + seconds(30), 250);
  CHECK(seen().humidity_rh == Approx(63));
  CHECK(seen().sun == Approx(0.54).margin(0.03));  // 33° high
  h.now += hours(12);
  CHECK(seen().sun < 0);
}
