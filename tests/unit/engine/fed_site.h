// Two benches on one pump with a recipe, a water and pots, and what the pump reports.
#pragma once

#include <catch2/catch.hpp>

#include "synthetic_site.h"

namespace plainwater::engine {

/// 10 mL a litre make 100 ppm N at full strength: EC 1.0 on water of 0.4. "long" is intermediate,
/// "mist" warm; both have one sensor each, and pots that hold 6 L together. It begins on 1 October:
/// learning benches get 25 %.
struct FedSite : SyntheticSite {
  explicit FedSite() : SyntheticSite(2) {
    now = *parse_rfc3339("2026-10-01T12:00:00Z");
    settings->benches.clear();
    for (const char* name : {"long", "mist"}) {
      Bench bench;
      bench.name = name;
      bench.group = settings->benches.empty() ? Group::intermediate : Group::warm;
      bench.sensors = {SensorId(static_cast<std::uint32_t>(settings->benches.size()))};
      bench.pots = 20;
      bench.pot_l = 1;
      settings->benches.push_back(bench);
    }
    settings->waters = {{"rain", 0.03, {}, 0.5}, {"tap", 0.4, {}, 0.5}};
    Recipe growth;
    growth.name = "growth";
    growth.label = "15-5-15";
    growth.nitrogen_percent = 15;
    growth.injector_ratio = 100;
    growth.ec_per_100ppm_n = 0.6;
    growth.target_ppm_n = 100;
    settings->recipes = {growth};
    Pump line;
    line.name = "line";
    line.benches = {"long", "mist"};
    line.recipe = "growth";
    line.water = "tap";
    settings->pumps = {line};
    air = [](Instant) { return 20.0; };
  }
  Pump& line() { return settings->pumps[0]; }
  BenchNow bench_of(const char* name) const { return engine->bench(*settings->bench(name)); }
  PumpNow pump() const { return engine->pumps().at(0); }
  feeding::Reply ask_pump(feeding::RequestKind kind, const char* name = "line") {
    return ask(kind, [&](feeding::Request& r) {
      r.bench.clear();
      r.pump = name;
    });
  }
  feeding::Reply ask_bench(
      feeding::RequestKind kind, const char* name,
      std::function<void(feeding::Request&)> fill = [](feeding::Request&) {}) {
    return ask(kind, [&](feeding::Request& r) {
      r.bench = name;
      fill(r);
    });
  }
  void arm() { REQUIRE(ask_pump(feeding::RequestKind::arm).done); }
  feeding::DoseReport report(std::optional<double> litres = {}) const {
    feeding::DoseReport r;
    r.pump = "line";
    r.source = "line";
    r.time = now;
    r.litres = litres;
    return r;
  }
  TakenDose dosed(const feeding::DoseReport& r) { return engine->take(r, now, out); }
  /// The pump says that it gave so much at a strength, over all of its benches.
  TakenDose gave(double litres, double percent) {
    feeding::DoseReport r = report(litres);
    r.strength_percent = percent;
    return dosed(r);
  }
  void later(Span span) {
    now += span;
    engine->advance(now, out);
  }
  /// Until three disobedient reports have cost the pump its trust.
  void disobey() {
    for (int i = 0; i < 3; ++i) {
      gave(5, 100);
      later(minutes(30));
    }
    REQUIRE_FALSE(pump().trusted);
  }
  std::vector<feeding::Decision> notices(feeding::Cause cause) const {
    std::vector<feeding::Decision> found;
    for (const auto& d : out.decisions)
      if (d.cause == cause && d.kind == feeding::DecisionKind::notice) found.push_back(d);
    return found;
  }
  /// Stops and starts, maybe under other settings.
  void restart(std::shared_ptr<Settings> with = nullptr) {
    const std::string bytes = engine->snapshot();
    if (with) settings = with;
    auto restored = Engine::restore(settings, bytes);
    REQUIRE(restored);
    engine = std::make_unique<Engine>(std::move(*restored));
  }
  std::shared_ptr<Settings> copy() const { return std::make_shared<Settings>(*settings); }
};

}  // namespace plainwater::engine
