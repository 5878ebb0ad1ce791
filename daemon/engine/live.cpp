// What cannot wait for a night's close: cold air, silence, the air as it is now.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "common/statistics.h"
#include "engine/sensor_words.h"
#include "engine/state.h"

namespace plainwater::engine {

using climate::Doubt;
using climate::Series;

namespace {

constexpr std::size_t kQuarantineMost = 10'000;
constexpr std::size_t kEarlierNeighbours = 6;
constexpr Span kNeighbourSpan = hours(6);

bool in_range(Milli value, const SensorRules& rules) {
  const double c = from_milli(value);
  return !climate::known_fault_value(value) && c >= rules.lowest_c && c <= rules.highest_c;
}

/// The newest believable temperature at or before `t`; looks at earlier readings only.
std::optional<climate::Air> believable(const Series& series, Instant t, const SensorRules& rules) {
  std::size_t i = series.at_or_after(t + Span(1));
  while (i-- > 0) {
    if (!in_range(series.value(i), rules)) continue;
    std::vector<double> earlier;
    for (std::size_t k = i; k-- > 0 && earlier.size() < kEarlierNeighbours &&
                            series.time(i) - series.time(k) <= kNeighbourSpan;)
      if (in_range(series.value(k), rules)) earlier.push_back(from_milli(series.value(k)));
    if (climate::is_spike(from_milli(series.value(i)), earlier)) {
      // A jump that the reading before shares is no spike.
      const double before = earlier.front();
      if (std::abs(before - from_milli(series.value(i))) > 2.0) continue;
    }
    return climate::Air{series.time(i), from_milli(series.value(i))};
  }
  return std::nullopt;
}

}  // namespace

Taken Engine::State::add(const Reading& reading) {
  const std::size_t s = index(reading.sensor);
  SensorState& sensor = sensors[s];
  if (reading.time > now + kFutureTolerance) {
    if (quarantine.size() >= kQuarantineMost) return Taken::history;
    const Quarantined held{reading.time - kFutureTolerance, reading};
    quarantine.insert(std::upper_bound(quarantine.begin(), quarantine.end(), held), held);
    next_due = std::min(next_due, held.due);
    return Taken::future;
  }
  if (reading.quantity == Quantity::place) {  // a contact may have said it long ago; an older word
                                              // than the last is passed over
    await_looks(reading);
    return Taken::used;
  }
  if (reading.time < kept_from) return Taken::history;
  Series& series = reading.quantity == Quantity::temperature ? sensor.temperature : sensor.humidity;
  const Series::Added added = series.add(reading.time, reading.value);
  if (added == Series::Added::repeated) return Taken::repeated;
  if (added == Series::Added::conflicting) return Taken::conflicting;

  const bool first = sensor.newest == kNever;
  if (reading.time > sensor.newest) sensor.newest = reading.time;
  if (first) next_due = std::min(next_due, silence_due(s));
  if (sensor.watch.doubt == Doubt::silent && reading.time > sensor.watch.doubted_since &&
      (sensor.back_since == kNever || reading.time < sensor.back_since)) {
    sensor.back_since = reading.time;
    next_due = std::min(next_due, silence_due(s));
  }
  if (reading.time < cycle_from) {
    if (reading.quantity == Quantity::temperature) ++sensor.late;
    return Taken::revised;
  }
  if (reading.quantity == Quantity::temperature && in_range(reading.value, settings->watch)) {
    await_looks(reading);
    for (std::size_t b = 0; b < benches.size(); ++b) {
      if (!on_bench(b, s) || from_milli(reading.value) >= chill_floor_c(settings->benches[b]))
        continue;
      const Cold waiting{std::max(reading.time + kReorderWindow, now), reading.time,
                         static_cast<std::uint32_t>(s)};
      cold.insert(std::upper_bound(cold.begin(), cold.end(), waiting), waiting);
      next_due = std::min(next_due, waiting.due);
      break;
    }
  }
  return Taken::used;
}

Engine::State::LiveAir Engine::State::air(std::size_t bench, Instant t) const {
  std::vector<double> temperatures, humidities;
  LiveAir result{climate::kUnknown, climate::kUnknown, kNever};
  for (const SensorId id : settings->benches[bench].sensors) {
    const SensorState& sensor = sensors[index(id)];
    if (sensor.watch.doubt != Doubt::none && sensor.watch.doubt != Doubt::silent &&
        settings->benches[bench].sensors.size() > 1)
      continue;
    const Span gap = sensor.watch.covered_gap(settings->watch);
    if (const auto found = believable(sensor.temperature, t, settings->watch);
        found && t - found->time <= gap) {
      temperatures.push_back(found->value);
      result.time = std::max(result.time, found->time);
    }
    const std::size_t h = sensor.humidity.at_or_after(t + Span(1));
    if (h > 0 && t - sensor.humidity.time(h - 1) <= gap)
      humidities.push_back(from_milli(sensor.humidity.value(h - 1)));
  }
  result.temperature_c = median(temperatures);
  result.humidity_rh = median(humidities);
  return result;
}

void Engine::State::judge_cold(const Cold& waiting, Outcome& out) {
  const SensorState& sensor = sensors[waiting.sensor];
  const bool doubted = sensor.watch.doubt != Doubt::none && sensor.watch.doubt != Doubt::silent;
  // The reading before it is the witness, so that one glitch chills nobody. It may itself look like
  // a spike, since the air that fell suddenly is what matters most here.
  std::size_t at = sensor.temperature.at_or_after(waiting.time);
  while (at > 0 && !in_range(sensor.temperature.value(at - 1), settings->watch)) --at;
  if (at == 0 ||
      waiting.time - sensor.temperature.time(at - 1) > sensor.watch.covered_gap(settings->watch))
    return;
  const double witness_c = from_milli(sensor.temperature.value(at - 1));
  for (std::size_t b = 0; b < benches.size(); ++b) {
    if (!on_bench(b, waiting.sensor)) continue;
    if (doubted && settings->benches[b].sensors.size() > 1)
      continue;  // an only sensor is still used
    const double floor_c = chill_floor_c(settings->benches[b]);
    const double here_c = air(b, waiting.time).temperature_c;
    if (here_c < floor_c && witness_c < floor_c)
      benches[b].feeding.take_chill(now, here_c, out.decisions);
  }
}

Instant Engine::State::silence_due(std::size_t s) const {
  const SensorState& sensor = sensors[s];
  if (sensor.watch.doubt == Doubt::silent)
    return sensor.back_since == kNever
               ? kForever
               : sensor.back_since + from_days(settings->watch.trusted_after_h / 24);
  if (sensor.watch.doubt != Doubt::none || sensor.newest == kNever) return kForever;
  const auto after = sensor.watch.silent_after(settings->watch);
  return after ? sensor.newest + *after : kForever;
}

void Engine::State::judge_silence(std::size_t s, Instant due, Outcome& out) {
  SensorState& sensor = sensors[s];
  const auto after = sensor.watch.silent_after(settings->watch).value_or(hours(3));
  if (sensor.watch.doubt == Doubt::none) {
    sensor.watch.doubt = Doubt::silent;
    sensor.watch.doubted_since = sensor.newest;
    sensor.back_since = kNever;
    tell_sensor(out, due, s, Doubt::none, 0, 0);
    return;
  }
  if (due - sensor.newest > after) {
    sensor.back_since = kNever;  // it spoke once and fell silent again
    return;
  }
  sensor.watch.doubt = Doubt::none;
  sensor.back_since = kNever;
  tell_sensor(out, due, s, Doubt::silent, 0, 0);
}

bool Engine::State::on_bench(std::size_t bench, std::size_t sensor) const {
  const auto& ids = settings->benches[bench].sensors;
  return std::find(ids.begin(), ids.end(), SensorId(static_cast<std::uint32_t>(sensor))) !=
         ids.end();
}

std::string Engine::State::bench_of(std::size_t sensor) const {
  for (std::size_t b = 0; b < benches.size(); ++b)
    if (on_bench(b, sensor)) return settings->benches[b].name;
  return {};
}

bool Engine::State::tells_air(std::size_t sensor) const {
  const std::string& name = settings->sensors[sensor].name;
  return !bench_of(sensor).empty() || name == settings->site.outdoor_reference ||
         name == settings->site.indoor_reference;
}

void Engine::State::tell_notice(Outcome& out, Instant t, std::size_t bench, feeding::Cause cause,
                                feeding::Evidence evidence, std::string text) const {
  feeding::Decision d;
  d.time = t;
  d.bench = settings->benches[bench].name;
  d.cause = cause;
  const auto share = benches[bench].feeding.effective(t);
  d.feeding = share.feeding;
  d.strength_percent = share.percent;
  d.evidence = std::move(evidence);
  d.text = std::move(text);
  out.decisions.push_back(std::move(d));
}

void Engine::State::tell_sensor(Outcome& out, Instant t, std::size_t s, Doubt was, int samples,
                                int bad) {
  const Doubt is = sensors[s].watch.doubt;
  feeding::Decision d;
  d.time = t;
  d.bench = bench_of(s);
  d.kind = is == Doubt::none ? feeding::DecisionKind::sensor_trusted
                             : feeding::DecisionKind::sensor_doubted;
  d.cause = is == Doubt::none ? feeding::Cause::good_values : cause_of(is);
  if (is != Doubt::none) d.since = sensors[s].watch.doubted_since;
  for (std::size_t b = 0; b < benches.size(); ++b) {
    if (settings->benches[b].name != d.bench) continue;
    const auto share = benches[b].feeding.effective(t);
    d.feeding = share.feeding;
    d.strength_percent = share.percent;
  }
  if (d.bench.empty()) d.feeding = feeding::Feeding::plain_water;
  d.evidence.text("sensor", settings->sensors[s].name);
  if (is == Doubt::none) d.evidence.text("was", name_of(was));
  if (samples > 0) d.evidence.count("samples", samples).count("refused", bad);
  if (is != Doubt::none) d.evidence.time("since", sensors[s].watch.doubted_since);
  d.text = is == Doubt::none ? trusted_again(settings->sensors[s].name, was)
                             : doubted(settings->sensors[s].name, is, d.bench);
  out.decisions.push_back(std::move(d));
}

}  // namespace plainwater::engine
