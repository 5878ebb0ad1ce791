// A made-up site whose air is an exact function of time, and an engine that lives in it.
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "engine/engine.h"

namespace plainwater::engine {

struct SyntheticSite {
  std::shared_ptr<Settings> settings = std::make_shared<Settings>();
  std::unique_ptr<Engine> engine;
  Outcome out;
  Instant now = *parse_rfc3339("2026-06-25T12:00:00Z");
  Span interval = minutes(30);
  /// °C at a time; sensor s reads it with an offset of s/10 °C.
  std::function<double(Instant)> air = [](Instant) { return 18.0; };
  /// What a sensor says of the air; NaN: nothing.
  std::function<double(std::size_t, Instant, double)> says = [](std::size_t, Instant, double c) {
    return c;
  };

  explicit SyntheticSite(std::size_t sensors = 1, Group group = Group::intermediate,
                         double latitude = 52.2) {
    settings->site.latitude_deg = latitude;
    settings->site.longitude_deg = -2.1;
    Bench bench;
    bench.name = "long";
    bench.group = group;
    for (std::size_t i = 0; i < sensors; ++i) {
      settings->sensors.push_back(
          {"long-" + std::string(1, static_cast<char>('a' + i)), Reports::regularly});
      bench.sensors.push_back(SensorId(static_cast<std::uint32_t>(i)));
    }
    settings->benches.push_back(bench);
    settings->pumps.push_back({"pump", {"long"}});
  }

  void begin() {
    if (!engine) engine = std::make_unique<Engine>(settings);
  }
  /// A slow wave, so that no sensor looks stuck: ±1.5 °C over the day.
  static double wave(Instant t) {
    return 1.5 * std::sin(static_cast<double>(to_ms(t) % 86'400'000) / 86'400'000.0 * 6.283185307);
  }

  void one_reading(std::size_t sensor, Instant at, double celsius) {
    engine->take({SensorId(static_cast<std::uint32_t>(sensor)), Quantity::temperature, at,
                  to_milli(celsius)},
                 std::max(at, engine->now()), out);
  }
  void days(double n) {
    begin();
    const Instant until = now + from_days(n);
    for (; now < until; now += interval) {
      for (std::size_t s = 0; s < settings->sensors.size(); ++s) {
        const double c = says(s, now, air(now) + wave(now) + 0.1 * static_cast<double>(s));
        if (!std::isnan(c)) one_reading(s, now + seconds(static_cast<int>(s)), c);
      }
      engine->advance(now, out);
    }
  }
  /// The nights and days of `n` days at a level.
  void days_at(double n, double celsius) {
    air = [celsius](Instant) { return celsius; };
    days(n);
  }
  feeding::Reply ask(
      feeding::RequestKind kind,
      std::function<void(feeding::Request&)> fill = [](feeding::Request&) {}) {
    feeding::Request request;
    request.id = "r" + std::to_string(++asked);
    request.who = "Ines";
    request.kind = kind;
    request.bench = "long";
    fill(request);
    return engine->take(request, now, out);
  }

  BenchNow bench() const { return engine->bench(0); }
  std::vector<feeding::Decision> told(feeding::DecisionKind kind) const {
    std::vector<feeding::Decision> found;
    for (const auto& d : out.decisions)
      if (d.kind == kind) found.push_back(d);
    return found;
  }
  std::size_t count(feeding::DecisionKind kind) const { return told(kind).size(); }
  bool told_of(feeding::Cause cause) const {
    return std::any_of(out.decisions.begin(), out.decisions.end(),
                       [&](const auto& d) { return d.cause == cause; });
  }
  int asked = 0;
};

}  // namespace plainwater::engine
