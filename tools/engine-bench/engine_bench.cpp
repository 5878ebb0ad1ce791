// What a reading costs the engine, whether that grows with history, and how quickly a house of a
// thousand benches restarts. Run by tools/bench.
#include <benchmark/benchmark.h>

#include <cmath>
#include <memory>
#include <string>

#include "engine/engine.h"

using namespace plainwater;
using engine::Engine;
using engine::Outcome;

namespace {

std::shared_ptr<Settings> house(std::size_t benches) {
  auto settings = std::make_shared<Settings>();
  settings->site.latitude_deg = 52.2;
  for (std::size_t i = 0; i < benches; ++i) {
    const std::string number = std::to_string(100'000 + i);
    settings->sensors.push_back({"s" + number, Reports::regularly});
    Bench bench;
    bench.name = "b" + number;
    bench.sensors = {SensorId(static_cast<std::uint32_t>(i))};
    settings->benches.push_back(bench);
  }
  return settings;
}

/// °C of invented air: a daily and a yearly wave.
Milli air(std::int64_t minute) {
  const double t = static_cast<double>(minute);
  return to_milli(15 + 5 * std::sin(t / 1440 * 6.2831853) + 6 * std::sin(t / 525'960 * 6.2831853) +
                  static_cast<double>(minute * 7919 % 100) / 300);
}

void feed(Engine& engine, std::size_t sensors, std::int64_t from_minute, std::int64_t to_minute,
          std::int64_t step, Outcome& out) {
  for (std::int64_t m = from_minute; m < to_minute; m += step) {
    const Instant t = from_seconds(1'800'000'000 + m * 60);
    for (std::size_t s = 0; s < sensors; ++s)
      engine.take({SensorId(static_cast<std::uint32_t>(s)), Quantity::temperature, t, air(m)}, t,
                  out);
    out.decisions.clear();
    out.nights.clear();
  }
}

/// One day of one reading a minute, after a history of `range` days. The cost should be flat.
void a_reading_after_days(benchmark::State& state) {
  const auto settings = house(1);
  Engine engine(settings);
  Outcome out;
  std::int64_t minute = 0;
  const std::int64_t before = state.range(0) * 1440;
  feed(engine, 1, 0, before, 30, out);
  minute = before;
  for (auto _ : state) {
    feed(engine, 1, minute, minute + 1440, 1, out);
    minute += 1440;
  }
  state.SetItemsProcessed(state.iterations() * 1440);
}
BENCHMARK(a_reading_after_days)->Arg(1)->Arg(365)->Arg(3650)->Unit(benchmark::kMicrosecond);

/// A pump report every ten minutes, in a house of `range` benches with a pump each. The cost should
/// be flat.
void a_report_of_a_pump(benchmark::State& state) {
  const auto settings = house(static_cast<std::size_t>(state.range(0)));
  Recipe recipe;
  recipe.name = "growth";
  recipe.nitrogen_percent = 15;
  recipe.injector_ratio = 100;
  recipe.ec_per_100ppm_n = 0.65;
  recipe.target_ppm_n = 100;
  settings->recipes = {recipe};
  settings->waters = {Water{"rain", 0.05, {}, 0.5}};
  for (const Bench& bench : settings->benches)
    settings->pumps.push_back({"p" + bench.name, {bench.name}, "growth", "rain"});
  for (Bench& bench : settings->benches) bench.pots = 30, bench.pot_l = 0.5;
  Engine engine(settings);
  Outcome out;
  Instant t = from_seconds(1'800'000'000);
  engine.advance(t, out);
  feeding::DoseReport report;
  report.pump = settings->pumps.back().name;
  report.bench = report.source = settings->benches.back().name;
  report.litres = 4;
  report.feed_ml = 0;
  report.ec = 0.05;
  for (auto _ : state) {
    report.time = t += minutes(10);
    engine.take(report, t, out);
    out.decisions.clear();
    out.nights.clear();
  }
  state.SetItemsProcessed(state.iterations());
}
BENCHMARK(a_report_of_a_pump)->Arg(1)->Arg(1000)->Unit(benchmark::kMicrosecond);

/// Readings of a bench and of both references, every `range(1)` minutes, on a bench that never
/// moves and on one whose place is watched: shows what the position filter adds to a reading.
void a_reading_of_a_bench(benchmark::State& state) {
  const auto settings = house(3);
  settings->benches.resize(1);
  settings->benches[0].moves = state.range(0) == 1 ? Moves::watched : Moves::never;
  settings->site.outdoor_reference = settings->sensors[1].name;
  settings->site.indoor_reference = settings->sensors[2].name;
  Engine engine(settings);
  Outcome out;
  const std::int64_t step = state.range(1);
  std::int64_t minute = 30 * 1440;
  feed(engine, 3, 0, minute, step, out);
  for (auto _ : state) {
    feed(engine, 3, minute, minute + 1440, step, out);
    minute += 1440;
  }
  state.SetItemsProcessed(state.iterations() * 3 * 1440 / step);
}
BENCHMARK(a_reading_of_a_bench)
    ->ArgNames({"watched", "minutes"})
    ->ArgsProduct({{0, 1}, {1, 10}})
    ->Unit(benchmark::kMicrosecond);

/// Restores the state of a thousand benches with a year of nights, and measures a bench's size in
/// the snapshot.
void restore_a_thousand_benches(benchmark::State& state) {
  const auto settings = house(1000);
  std::string bytes;
  {
    Engine engine(settings);
    Outcome out;
    feed(engine, 1000, 0, 365 * 1440, 120, out);
    bytes = engine.snapshot();
  }
  for (auto _ : state) {
    auto engine = Engine::restore(settings, bytes);
    if (!engine) state.SkipWithError(engine.error().message().c_str());
    benchmark::DoNotOptimize(engine);
  }
  state.counters["bytes_per_bench"] = static_cast<double>(bytes.size()) / 1000;
}
BENCHMARK(restore_a_thousand_benches)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
