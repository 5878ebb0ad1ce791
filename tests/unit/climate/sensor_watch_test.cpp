// The watch over one sensor: known faults, spikes, stuck and wet sensors, the usual interval.
#include "climate/sensor_watch.h"

#include <catch2/catch.hpp>
#include <functional>

#include "start.h"

using namespace plainwater;
using namespace plainwater::climate;

namespace {

/// A sensor whose watch is folded day by day.
struct Watched {
  SensorWatch watch;
  SensorRules rules;
  int day = 0;

  using Law = std::function<std::optional<double>(int minute)>;  ///< of the minute of the day
  /// One cycle with a temperature, and optionally a humidity, every `step_min` minutes.
  SensorCycle cycle(const Law& temperature, const Law& humidity = {}, int step_min = 60,
                    double neighbours_c = 0) {
    Series t, rh;
    const Instant from = kStart + kDay * day++;
    for (int m = 0; m < 1440; m += step_min) {
      if (temperature)
        if (const auto v = temperature(m)) t.add(from + minutes(m), to_milli(*v));
      if (humidity)
        if (const auto v = humidity(m)) rh.add(from + minutes(m), to_milli(*v));
    }
    return watch.fold(t, rh, from, from + kDay, rules,
                      [=](Instant, Instant) { return neighbours_c; });
  }
};

double lively(int minute) { return 18 + 0.1 * ((minute / 5) % 13); }
double whole_degrees(int minute) { return minute < 720 ? 18 : 19; }
Watched::Law constant(double value) {
  return [=](int) { return std::optional(value); };
}

}  // namespace

TEST_CASE("Values of known faults") {
  for (const Milli m : {85'000, -127'000, 127'940}) CHECK(known_fault_value(m));
  for (const Milli m : {84'999, 85'001, -126'900, 127'000, 0}) CHECK_FALSE(known_fault_value(m));
}

TEST_CASE("A spike is far off the median of its neighbours, and farther than their spread") {
  CHECK(is_spike(25, {18, 18.1, 18.2, 18}));
  CHECK(is_spike(13.9, {18, 18, 18}));
  CHECK_FALSE(is_spike(22, {18, 18, 18}));          // not more than 4 °C
  CHECK_FALSE(is_spike(25, {18, 18}));              // too few neighbours
  CHECK_FALSE(is_spike(25, {10, 14, 18, 22, 26}));  // the neighbours themselves are spread
}

TEST_CASE("A normal sensor is trusted and all its values are kept") {
  Watched w;
  for (int d = 0; d < 5; ++d) {
    const SensorCycle c = w.cycle(lively, lively, 5);
    CHECK(c.samples == 288);
    CHECK(c.temperature.size() == 288);
    CHECK(c.humidity.size() == 288);
    CHECK(c.refused + c.spikes == 0);
    CHECK(w.watch.doubt == Doubt::none);
  }
}

TEST_CASE(
    "A few refused values are left out; many put the sensor in doubt, until an hour of good ones") {
  Watched w;
  SensorCycle c = w.cycle([](int m) { return m == 600 || m == 605 ? 85.0 : lively(m); }, {}, 5);
  CHECK(c.refused == 2);
  CHECK(c.temperature.size() == 286);
  CHECK(w.watch.doubt == Doubt::none);

  c = w.cycle([](int m) { return m % 20 == 0 ? -127.0 : lively(m); }, {}, 5);
  CHECK(c.refused == 72);
  CHECK(w.watch.doubt == Doubt::out_of_range);
  CHECK(w.watch.doubted_since == kStart + kDay);

  w.cycle([](int m) { return m >= 1385 ? 85.0 : lively(m); }, {}, 5);  // its last hour is bad
  CHECK(w.watch.doubt == Doubt::out_of_range);
  w.cycle([](int m) { return m <= 60 ? 85.0 : lively(m); }, {}, 5);
  CHECK(w.watch.doubt == Doubt::none);
}

TEST_CASE("Fahrenheit taken for Celsius is out of range") {
  Watched w;
  CHECK(w.cycle([](int m) { return 64 + lively(m) / 10; }, {}, 5).temperature.empty());
  CHECK(w.watch.doubt == Doubt::out_of_range);
}

TEST_CASE("Single jumps are left out; a sensor that jumps a quarter of the time is doubted") {
  Watched w;
  SensorCycle c = w.cycle([](int m) { return m == 600 ? 31.0 : lively(m); }, {}, 5);
  CHECK(c.spikes == 1);
  CHECK(c.temperature.size() == 287);
  CHECK(w.watch.doubt == Doubt::none);
  c = w.cycle([](int m) { return m % 20 == 0 ? 31.0 : lively(m); }, {}, 5);
  CHECK(c.spikes == 72);
  CHECK(w.watch.doubt == Doubt::spiking);
}

TEST_CASE("A lasting step is not a spike") {
  Watched w;
  const SensorCycle c = w.cycle([](int m) { return m < 720 ? lively(m) : lively(m) - 10; }, {}, 5);
  CHECK(c.spikes == 0);
}

TEST_CASE("Twelve hours at one value: stuck, from the run's first sample") {
  Watched w;
  SensorCycle c =
      w.cycle([](int m) { return m < 725 ? lively(m) : 18.7; }, {}, 5);  // 11 h 50 min so far
  CHECK_FALSE(c.stuck_at_end);
  CHECK(w.watch.doubt == Doubt::none);
  c = w.cycle(constant(18.7), {}, 5);
  CHECK(c.stuck_at_end);
  CHECK(w.watch.doubt == Doubt::stuck);
  CHECK(w.watch.doubted_since == kStart + minutes(725));
  CHECK(std::all_of(c.temperature.begin(), c.temperature.end(),
                    [](const Sample& s) { return s.stuck; }));
  c = w.cycle(lively, {}, 5);
  CHECK(w.watch.doubt == Doubt::none);
  CHECK_FALSE(c.stuck_at_end);
}

TEST_CASE("A run that ends within the cycle is marked, and the sensor is trusted after an hour") {
  Watched w;
  w.cycle(lively, {}, 5);
  const SensorCycle c = w.cycle([](int m) { return m < 900 ? 18.7 : lively(m); }, {}, 5);
  CHECK(w.watch.doubt == Doubt::none);
  CHECK(c.temperature[0].stuck);
  CHECK(c.temperature[100].stuck);
  CHECK_FALSE(c.temperature[200].stuck);
}

TEST_CASE("Changing humidity shows that a temperature is not stuck") {
  Watched w;
  w.cycle(lively, lively, 5);
  const SensorCycle c = w.cycle(constant(18.7), [](int m) { return 60.0 + m / 240; }, 5);
  CHECK(w.watch.doubt == Doubt::none);
  CHECK_FALSE(c.stuck_at_end);
  w.cycle(constant(18.7), constant(65), 5);
  CHECK(w.watch.doubt == Doubt::stuck);
}

TEST_CASE("A sensor with whole degrees may stay longer at one value: four days") {
  Watched w;
  w.cycle(whole_degrees, {}, 5);
  for (int d = 0; d < 3; ++d) {
    w.cycle(constant(19), {}, 5);
    CHECK(w.watch.doubt == Doubt::none);
  }
  w.cycle(constant(19), {}, 5);
  CHECK(w.watch.doubt == Doubt::stuck);
}

TEST_CASE(
    "Three hours at one value while neighbours move are enough, but not for a coarse sensor") {
  const auto five_hours_still = [](int m) { return m < 1140 ? lively(m) : 18.7; };
  Watched fine;
  fine.cycle(lively, {}, 5);
  fine.cycle(five_hours_still, {}, 5, 1.9);
  CHECK(fine.watch.doubt == Doubt::none);
  Watched moved;
  moved.cycle(lively, {}, 5);
  moved.cycle(five_hours_still, {}, 5, 2.0);
  CHECK(moved.watch.doubt == Doubt::stuck);
  Watched coarse;
  coarse.cycle(whole_degrees, {}, 5);
  coarse.cycle(whole_degrees, {}, 5, 5.0);
  CHECK(coarse.watch.doubt == Doubt::none);
}

TEST_CASE("Humidity at 100 % for two days means wet, and proves nothing about the temperature") {
  Watched w;
  CHECK_FALSE(w.cycle(lively, constant(100), 5).wet);
  CHECK_FALSE(w.cycle(lively, constant(100), 5).wet);
  CHECK(w.cycle(lively, constant(100), 5).wet);
  CHECK(w.watch.doubt == Doubt::none);
  CHECK_FALSE(w.cycle(lively, constant(80), 5).wet);
}

TEST_CASE("Humidity outside 0 to 100 % is left out") {
  Watched w;
  CHECK(w.cycle(lively, [](int m) { return m < 720 ? 101.0 : -1.0; }, 5).humidity.empty());
}

TEST_CASE(
    "The usual interval is learnt from closed cycles, and with it what is silent and what is "
    "covered") {
  Watched w;
  CHECK_FALSE(w.watch.usual_interval());
  CHECK_FALSE(w.watch.silent_after(w.rules));
  Watched of_changes;
  of_changes.watch.reports = Reports::on_change;
  CHECK(of_changes.watch.silent_after(of_changes.rules) == hours(24));
  CHECK(of_changes.watch.covered_gap(of_changes.rules) == hours(24));
  CHECK(w.watch.covered_gap(w.rules) == minutes(45));
  w.cycle(lively, {}, 5);
  CHECK(w.watch.usual_interval() == minutes(5));
  CHECK(w.watch.silent_after(w.rules) == minutes(15));
  CHECK(w.watch.covered_gap(w.rules) == minutes(45));
  for (int d = 0; d < 3; ++d) w.cycle(lively, {}, 60);
  CHECK(w.watch.usual_interval() == minutes(60));
  CHECK(w.watch.silent_after(w.rules) == minutes(180));
  CHECK(w.watch.covered_gap(w.rules) == minutes(180));
  w.cycle([](int m) { return m < 180 ? std::optional(lively(m)) : std::nullopt; }, {},
          60);  // three samples are not enough to learn from
  CHECK(w.watch.usual_interval() == minutes(60));
}

TEST_CASE("A humidity-only sensor has an interval too") {
  Watched w;
  w.cycle({}, lively, 10);
  CHECK(w.watch.usual_interval() == minutes(10));
}
