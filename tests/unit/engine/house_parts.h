// Settings, benches and sensors for tests of one part of the engine, without an engine around it.
#pragma once

#include <catch2/catch.hpp>

#include "engine/turn.h"

namespace plainwater::engine {

/// Two benches of one pump, "long" with the sensors 0 and 1 and "mist" with 2; the contact 3 is
/// long's, and 4 is the outdoor reference. Noon of 1 October.
struct HouseParts {
  Settings settings;
  Sensors sensors{5};
  Benches benches;
  Outcome out;
  Instant now = *parse_rfc3339("2026-10-01T12:00:00Z");

  HouseParts() {
    settings.site.latitude_deg = 52.2;
    settings.site.longitude_deg = -2.1;
    settings.site.outdoor_reference = "outdoors";
    for (const char* name : {"long-a", "long-b", "mist-a", "door", "outdoors"})
      settings.sensors.push_back({name, Reports::regularly});
    Bench bench;
    bench.name = "long";
    bench.group = Group::intermediate;
    bench.sensors = {SensorId(0), SensorId(1)};
    bench.contact = SensorId(3);
    bench.moves = Moves::watched;
    bench.pots = 20;
    bench.pot_l = 1;
    settings.benches.push_back(bench);
    bench.name = "mist";
    bench.group = Group::warm;
    bench.sensors = {SensorId(2)};
    bench.contact.reset();
    bench.moves = Moves::never;
    settings.benches.push_back(bench);
    Pump line;
    line.name = "line";
    line.benches = {"long", "mist"};
    settings.pumps = {line};
    for (const Bench& b : settings.benches) benches.emplace_back(&b, &settings);
    feeding::SeasonFacts growing;
    growing.light_h = 14;
    for (BenchState& b : benches) b.feeding.begin(growing, now, out.decisions);
    out = {};
  }
  HouseParts(const HouseParts&) = delete;

  Turn turn() { return {settings, now, benches, out}; }
  void hold(std::size_t bench, std::optional<Instant> until = {}) {
    feeding::Request request;
    request.kind = feeding::RequestKind::hold;
    request.until = until;
    REQUIRE(benches[bench]
                .feeding.take_request(request, now, benches[bench].season, out.decisions)
                .done);
    out = {};
  }
  Reading reading(std::uint32_t sensor, Instant t, double celsius) const {
    return {SensorId(sensor), Quantity::temperature, t, to_milli(celsius)};
  }
  void reads(std::uint32_t sensor, Instant t, double celsius) {
    sensors[sensor].add(reading(sensor, t, celsius));
  }
};

}  // namespace plainwater::engine
