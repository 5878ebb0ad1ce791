#include "engine/revising.h"

#include <cmath>

#include "climate/fusion.h"

namespace plainwater::engine {

void revise_last_night(std::size_t b, climate::SolarDay closing, const Sensors& sensors, Instant t,
                       const Turn& turn) {
  const SensorRules& rules = turn.settings.watch;
  const Bench& bench = turn.settings.benches[b];
  std::uint32_t late = 0;
  for (const SensorId id : bench.sensors) late += sensors[index(id)].late;
  BenchState& state = turn.benches[b];
  if (late == 0 || state.last_night != closing - 1 || state.last.suspect) return;

  std::vector<std::vector<climate::Air>> speaking;
  Span gap(0);
  for (const SensorId id : bench.sensors) {
    const SensorState& sensor = sensors[index(id)];
    gap = std::max(gap, sensor.watch.covered_gap(rules));
    const climate::Doubt doubt = sensor.watch.doubt;
    const bool left_out = doubt == climate::Doubt::drifting || doubt == climate::Doubt::spiking ||
                          doubt == climate::Doubt::out_of_range;
    if (left_out && bench.sensors.size() > 1) continue;
    climate::SensorCycle cycle;
    climate::believe(sensor.temperature, state.last_row.sunset, state.last_row.sunrise, rules,
                     cycle);
    std::vector<climate::Air> values;
    for (const climate::Sample& sample : cycle.temperature)
      values.push_back({sample.time, sample.value});
    if (!values.empty()) speaking.push_back(std::move(values));
  }
  if (speaking.empty()) return;
  const climate::Stretch revised =
      climate::sum_up(fuse(speaking, gap), state.last_row.sunset, state.last_row.sunrise, gap / 2);

  feeding::Evidence evidence;
  evidence.text("night", state.last_row.night)
      .count("late_readings", late)
      .number("mean_before_c", state.last_row.mean_c, 2);
  evidence.number("mean_c", revised.mean, 2).number("coverage", revised.coverage, 2);
  turn.notice(t, b, feeding::Cause::none, std::move(evidence),
              words::say("night.revised", {{"readings", words::count(late)},
                                           {"night", words::name(state.last_row.night)}}));
  if (state.last_row.counted) state.season.acclimation.revise(state.last_night, revised.mean);
  state.last_row.mean_c = revised.mean;
  state.last_row.minimum_c = revised.minimum;
  state.last_row.coverage = revised.coverage;
  turn.out.nights.push_back(state.last_row);
}

}  // namespace plainwater::engine
