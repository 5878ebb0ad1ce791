#include "engine/cold_air.h"

#include <algorithm>

#include "engine/bench_places.h"
#include "engine/live_air.h"
#include "engine/sensor_places.h"

namespace plainwater::engine {

using climate::Doubt;

namespace {
constexpr Span kWitnessHolds = hours(6);  // an older reading says nothing about this cold
}

std::optional<Instant> ColdAir::add(const Reading& reading, Instant now, const Settings& settings) {
  const std::size_t s = index(reading.sensor);
  const double c = from_milli(reading.value);
  if (std::ranges::none_of(settings.benches, [&](const Bench& bench) {
        return on_bench(bench, s) && c < chill_floor_c(bench);
      }))
    return std::nullopt;
  const Cold cold{std::max(reading.time + kReorderWindow, now), reading.time,
                  static_cast<std::uint32_t>(s)};
  waiting_.insert(std::upper_bound(waiting_.begin(), waiting_.end(), cold), cold);
  return cold.due;
}

void ColdAir::judge_next(const Sensors& sensors, const Turn& turn) {
  const Cold cold = waiting_.front();
  waiting_.erase(waiting_.begin());
  const SensorRules& rules = turn.settings.watch;
  const SensorState& sensor = sensors[cold.sensor];
  const bool doubted = sensor.watch.doubt != Doubt::none && sensor.watch.doubt != Doubt::silent;
  // The previous reading is the witness, so that one glitch chills no bench. It may itself look
  // like a spike, since a sudden fall matters most here.
  std::size_t at = sensor.temperature.at_or_after(cold.time);
  while (at > 0 && !in_range(sensor.temperature.value(at - 1), rules)) --at;
  if (at == 0 || cold.time - sensor.temperature.time(at - 1) > kWitnessHolds) return;
  // A gap counts for at most the sensor's usual one.
  const Instant from =
      std::max(sensor.temperature.time(at - 1), cold.time - sensor.watch.covered_gap(rules));
  const double witness_c = from_milli(sensor.temperature.value(at - 1));
  for (std::size_t b = 0; b < turn.benches.size(); ++b) {
    const Bench& bench = turn.settings.benches[b];
    if (!on_bench(bench, cold.sensor)) continue;
    if (doubted && bench.sensors.size() > 1) continue;  // a bench's only sensor is still used
    const double floor_c = chill_floor_c(bench);
    const double here_c = live_air(bench, sensors, cold.time, rules).temperature_c;
    if (here_c < floor_c && witness_c < floor_c)
      turn.benches[b].feeding.take_cold({from, cold.time, witness_c, here_c},
                                        place_of(bench, turn.benches[b]), turn.now,
                                        turn.out.decisions);
  }
}

void ColdAir::set_back(Span by) {
  for (Cold& cold : waiting_) {
    cold.due -= by;
    cold.time -= by;
  }
}

void ColdAir::save(ByteWriter& out, const Settings& settings) const {
  out.put(static_cast<std::uint32_t>(waiting_.size()));
  for (const Cold& cold : waiting_) {
    out.put(settings.sensors[cold.sensor].name);
    out.put(cold.due);
    out.put(cold.time);
  }
}

void ColdAir::load(ByteReader& in, const Settings& settings) {
  std::string name;
  for (std::size_t n = in.get_count(); n > 0; --n) {
    Cold cold;
    in.get(name);
    in.get(cold.due);
    in.get(cold.time);
    const auto sensor = settings.heir_of_sensor(name);
    if (!sensor) continue;
    cold.sensor = static_cast<std::uint32_t>(index(*sensor));
    waiting_.push_back(cold);
  }
}

}  // namespace plainwater::engine
