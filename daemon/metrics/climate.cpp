// Air, nights and places of the benches.
#include "metrics/families.h"

namespace plainwater::metrics {
namespace {

using engine::BenchNow;

void each(const status::Status& status, Family family, double (*figure)(const BenchNow&)) {
  for (const auto& bench : status.benches) family.add(figure(bench), {{"bench", bench.name}});
}

}  // namespace

void add_climate(const status::Status& status, Families& into) {
  each(status,
       gauge(into, "plainwater_bench_temperature_celsius",
             "Air at the bench, from its trusted sensors."),
       [](const BenchNow& b) { return b.temperature_c; });
  each(status,
       gauge(into, "plainwater_bench_humidity_ratio", "Relative humidity of that air, 0 to 1."),
       [](const BenchNow& b) { return b.humidity_rh / 100; });
  each(status,
       gauge(into, "plainwater_bench_vapour_pressure_deficit_pascals",
             "What that air lacks to be saturated."),
       [](const BenchNow& b) { return b.vpd_kpa * 1000; });
  each(status, gauge(into, "plainwater_bench_dew_point_celsius", "Dew point of that air."),
       [](const BenchNow& b) { return b.dew_point_c; });
  auto air = gauge(into, "plainwater_bench_air_timestamp_seconds", "When that air was measured.");
  for (const auto& bench : status.benches) air.add(bench.air_time, {{"bench", bench.name}});

  each(status, gauge(into, "plainwater_bench_night_mean_celsius", "Mean of the last closed night."),
       [](const BenchNow& b) { return b.night_mean_c; });
  each(status,
       gauge(into, "plainwater_bench_night_minimum_celsius", "Minimum of the last closed night."),
       [](const BenchNow& b) { return b.night_minimum_c; });
  each(status,
       gauge(into, "plainwater_bench_night_coverage_ratio",
             "Share of the last closed night that readings cover, 0 to 1."),
       [](const BenchNow& b) { return b.night_coverage; });
  each(status,
       gauge(into, "plainwater_bench_acclimated_night_celsius",
             "The night temperature that the plants are used to."),
       [](const BenchNow& b) { return b.acclimated_c; });
  each(status,
       gauge(into, "plainwater_bench_night_deficit_celsius",
             "How far the last night lay under what they are used to."),
       [](const BenchNow& b) { return b.deficit_c; });
  each(status,
       gauge(into, "plainwater_bench_metabolic_rate_ratio",
             "Metabolic rate of the last night against a night that they are used to; 1 is as used "
             "to."),
       [](const BenchNow& b) { return b.metabolic_rate; });

  auto position = gauge(into, "plainwater_bench_position", "Where the bench is: 1 for its place.");
  for (const auto& bench : status.benches)
    for (const auto place : {Position::indoors, Position::outdoors, Position::unknown})
      position.add(bench.place.position == place ? 1 : 0,
                   {{"bench", bench.name}, {"position", name_of(place)}});
  auto shuttling =
      gauge(into, "plainwater_bench_shuttling",
            "Whether the bench is carried in and out repeatedly; of benches that move.");
  for (const auto& bench : status.benches)
    if (bench.place.moves != Moves::never)
      shuttling.add(bench.place.pattern == season::Pattern::shuttling ? 1 : 0,
                    {{"bench", bench.name}});
}

}  // namespace plainwater::metrics
