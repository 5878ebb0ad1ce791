#include "engine/night_close.h"

#include <algorithm>
#include <cmath>

#include "climate/fusion.h"
#include "climate/vapour.h"
#include "common/statistics.h"
#include "engine/sensor_places.h"

namespace plainwater::engine {

using climate::Air;
using climate::Doubt;
using climate::SensorCycle;

namespace {

/// How far a sensor's believed values moved within [from, to], °C.
double range_of(const climate::Series& series, Instant from, Instant to, const SensorRules& rules) {
  double low = rules.highest_c, high = rules.lowest_c;
  for (std::size_t i = series.at_or_after(from); i < series.size() && series.time(i) <= to; ++i) {
    const double c = from_milli(series.value(i));
    if (climate::known_fault_value(series.value(i)) || c < rules.lowest_c || c > rules.highest_c)
      continue;
    low = std::min(low, c);
    high = std::max(high, c);
  }
  return high > low ? high - low : 0;
}

std::vector<Air> temperatures(const SensorCycle& cycle, bool with_stuck) {
  std::vector<Air> out;
  for (const climate::Sample& s : cycle.temperature)
    if (with_stuck || !s.stuck) out.push_back({s.time, s.value});
  return out;
}

}  // namespace

void NightClose::judge_sensors() {
  for (std::size_t i = 0; i < sensors_.size(); ++i) {
    SensorState& sensor = sensors_[i];
    was_.push_back(sensor.watch.doubt);
    cycles_.push_back(sensor.watch.fold(
        sensor.temperature, sensor.humidity, cycle_.from(), cycle_.sunrise(), turn_.settings.watch,
        [&, i](Instant from, Instant to) { return neighbours_moved(i, from, to); }));
    if (cycles_[i].samples == 0 && cycles_[i].humidity.empty() &&
        sensor.watch.doubt == Doubt::none && tells_air(turn_.settings, i)) {
      sensor.fall_silent(sensor.newest == kNever ? cycle_.from() : sensor.newest);
    }
  }
  for (std::size_t b = 0; b < turn_.benches.size(); ++b) {
    judge_drift(b);
    judge_pair(b);
  }
  for (std::size_t i = 0; i < sensors_.size(); ++i) {
    judge_wet(i);
    const Doubt is = sensors_[i].watch.doubt;
    if (is == was_[i]) continue;
    turn_.sensor(t_, i, sensors_[i], was_[i], cycles_[i].samples,
                 cycles_[i].refused + cycles_[i].spikes);
  }
}

climate::BenchNight NightClose::sum_up(const Bench& bench) const {
  climate::BenchNight night;
  const auto& ids = bench.sensors;
  Span gap(0);
  for (const SensorId id : ids)
    gap = std::max(gap, sensors_[index(id)].watch.covered_gap(turn_.settings.watch));
  night.temperature = stretch(ids, false, cycle_.sunset(), cycle_.sunrise(), gap);
  night.day = stretch(ids, false, cycle_.from(), cycle_.sunset(), gap);
  if (night.temperature.coverage < turn_.settings.watch.night_coverage) {
    const climate::Stretch any = stretch(ids, true, cycle_.sunset(), cycle_.sunrise(), gap);
    if (any.coverage >= turn_.settings.watch.night_coverage) {
      night.temperature = any;
      night.suspect = true;
    }
  }
  std::vector<std::vector<Air>> humid;
  for (const SensorId id : ids)
    if (!cycles_[index(id)].humidity.empty()) humid.push_back(cycles_[index(id)].humidity);
  if (!humid.empty())
    night.mean_rh =
        climate::sum_up(fuse(humid, gap), cycle_.sunset(), cycle_.sunrise(), gap / 2).mean;
  if (!std::isnan(night.mean_rh) && !std::isnan(night.temperature.mean))
    night.vpd_kpa = climate::vapour_pressure_deficit_kpa(night.temperature.mean, night.mean_rh);
  return night;
}

double NightClose::neighbours_moved(std::size_t sensor, Instant from, Instant to) const {
  double moved = 0;
  auto look = [&](SensorId id) {
    if (index(id) != sensor)
      moved = std::max(moved,
                       range_of(sensors_[index(id)].temperature, from, to, turn_.settings.watch));
  };
  for (std::size_t b = 0; b < turn_.benches.size(); ++b)
    if (on_bench(turn_.settings.benches[b], sensor))
      std::for_each(turn_.settings.benches[b].sensors.begin(),
                    turn_.settings.benches[b].sensors.end(), look);
  return moved;
}

bool NightClose::left_out(SensorId id) const {
  const Doubt doubt = sensors_[index(id)].watch.doubt;
  return doubt == Doubt::out_of_range || doubt == Doubt::spiking || doubt == Doubt::drifting;
}

climate::Stretch NightClose::stretch(const std::vector<SensorId>& ids, bool doubted_too,
                                     Instant from, Instant to, Span gap) const {
  std::vector<std::vector<Air>> speaking;
  for (const SensorId id : ids) {
    // A bench's only sensor is used even when it jumps: refused values and spikes are already
    // removed.
    if (left_out(id) && !doubted_too && ids.size() > 1) continue;
    auto values = temperatures(cycles_[index(id)], doubted_too);
    if (!values.empty()) speaking.push_back(std::move(values));
  }
  if (speaking.empty()) return {};
  return climate::sum_up(fuse(speaking, gap), from, to, gap / 2);
}

std::vector<double> NightClose::night_means(const std::vector<SensorId>& ids) const {
  std::vector<double> means(ids.size(), climate::kUnknown);
  for (std::size_t k = 0; k < ids.size(); ++k) {
    const SensorState& sensor = sensors_[index(ids[k])];
    const Span gap = sensor.watch.covered_gap(turn_.settings.watch);
    const auto own = climate::sum_up(temperatures(cycles_[index(ids[k])], false), cycle_.sunset(),
                                     cycle_.sunrise(), gap / 2);
    if (own.coverage >= turn_.settings.watch.night_coverage) means[k] = own.mean;
  }
  return means;
}

climate::DriftWatch& NightClose::drift_of(std::size_t b, SensorId id) {
  return turn_.benches[b].drift[turn_.settings.sensors[index(id)].name];
}

void NightClose::judge_pair(std::size_t b) {
  const auto& ids = turn_.settings.benches[b].sensors;
  if (ids.size() != 2) return;
  const std::vector<double> means = night_means(ids);
  if (std::isnan(means[0]) || std::isnan(means[1])) return;
  climate::DriftWatch& watch = drift_of(b, ids[0]);
  const double offset = means[0] - means[1], off = watch.off_c(offset),
               limit = turn_.settings.watch.drift_c;
  const bool agree = watch.take(offset, limit);
  bool& told = turn_.benches[b].disagreement;
  if (agree) told = false;
  if (agree || told || !watch.strays(off, limit)) return;
  told = true;
  feeding::Evidence evidence;
  evidence.number("difference_c", offset, 2)
      .number("usual_difference_c", watch.usual_offset_c(), 2);
  turn_.notice(t_, b, feeding::Cause::drifting, std::move(evidence),
               words::say("sensor.pair",
                          {{"one", words::name(turn_.settings.sensors[index(ids[0])].name)},
                           {"other", words::name(turn_.settings.sensors[index(ids[1])].name)}}) +
                   words::say("sensor.pair-please"));
}

void NightClose::judge_wet(std::size_t i) {
  SensorState& sensor = sensors_[i];
  const bool fresh = cycles_[i].wet && !sensor.wet;
  sensor.wet = cycles_[i].wet;
  for (std::size_t b = 0; fresh && b < turn_.benches.size(); ++b) {
    if (!on_bench(turn_.settings.benches[b], i)) continue;
    feeding::Evidence evidence;
    evidence.text("sensor", turn_.settings.sensors[i].name);
    turn_.notice(
        t_, b, feeding::Cause::wet, std::move(evidence),
        words::say("sensor.wet", {{"sensor", words::name(turn_.settings.sensors[i].name)}}) +
            words::say("sensor.wet-used"));
  }
}

void NightClose::judge_drift(std::size_t b) {
  const auto& ids = turn_.settings.benches[b].sensors;
  if (ids.size() < 3) return;
  const std::vector<double> means = night_means(ids);
  // Each night only the sensor that disagrees most may be blamed, and only by trusted ones:
  // otherwise a drifting sensor would drag the others into doubt. Silence is judged live and
  // depends on when readings arrived, so it must not affect the judgement of a night.
  const auto trusted = [&](std::size_t k) {
    const Doubt doubt = sensors_[index(ids[k])].watch.doubt;
    return !std::isnan(means[k]) && (doubt == Doubt::none || doubt == Doubt::silent);
  };
  std::size_t worst = ids.size();
  double worst_off = 0;
  for (std::size_t k = 0; k < ids.size(); ++k) {
    SensorState& sensor = sensors_[index(ids[k])];
    std::vector<double> mates;
    for (std::size_t j = 0; j < ids.size(); ++j)
      if (j != k && trusted(j)) mates.push_back(means[j]);
    if (std::isnan(means[k]) || mates.size() < 2) continue;
    climate::DriftWatch& drift = drift_of(b, ids[k]);
    const double offset = means[k] - median(mates);
    const double limit = turn_.settings.watch.drift_c, off = drift.off_c(offset);
    const bool agrees = drift.take(offset, limit);
    if (agrees && sensor.watch.doubt == Doubt::drifting) sensor.watch.doubt = Doubt::none;
    if (trusted(k) && drift.strays(off, limit) && off > worst_off) {
      worst = k;
      worst_off = off;
    }
  }
  if (worst == ids.size()) return;
  SensorState& blamed = sensors_[index(ids[worst])];
  blamed.watch.doubt = Doubt::drifting;
  blamed.watch.doubted_since = cycle_.sunset();
}

}  // namespace plainwater::engine
