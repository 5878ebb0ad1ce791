// The close of a cycle, an hour after sunrise: sensors are judged, each bench's day and night
// summed up, and the season and the feeding take the night. Everything here is a function of the
// cycle's sorted readings.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "climate/vapour.h"
#include "common/json_text.h"
#include "common/statistics.h"
#include "engine/sensor_words.h"
#include "engine/state.h"
#include "season/metabolic.h"

namespace plainwater::engine {

using climate::Air;
using climate::Doubt;
using climate::SensorCycle;

namespace {

constexpr std::int64_t kLearningNights = 15;
constexpr double kSuspectLevel_c = 2.0;  // a frozen sensor may keep a level, never make a drop
constexpr std::size_t kLevelNights = 7;

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

/// One cycle of all sensors, and what is derived from it for benches.
class Closing {
 public:
  Closing(Engine::State& state, Outcome& out, Instant t) : s_(state), out_(out), t_(t) {}

  void judge_sensors() {
    for (std::size_t i = 0; i < s_.sensors.size(); ++i) {
      SensorState& sensor = s_.sensors[i];
      was_.push_back(sensor.watch.doubt);
      cycles_.push_back(sensor.watch.fold(
          sensor.temperature, sensor.humidity, s_.cycle_from, s_.sunrise, s_.settings->watch,
          [&, i](Instant from, Instant to) { return neighbours_moved(i, from, to); }));
      if (cycles_[i].samples == 0 && cycles_[i].humidity.empty() &&
          sensor.watch.doubt == Doubt::none && s_.tells_air(i)) {
        sensor.watch.doubt = Doubt::silent;
        sensor.watch.doubted_since = sensor.newest == kNever ? s_.cycle_from : sensor.newest;
        sensor.back_since = kNever;
      }
    }
    for (std::size_t b = 0; b < s_.benches.size(); ++b) {
      judge_drift(b);
      judge_pair(b);
    }
    for (std::size_t i = 0; i < s_.sensors.size(); ++i) {
      judge_wet(i);
      const Doubt is = s_.sensors[i].watch.doubt;
      if (is == was_[i]) continue;
      s_.tell_sensor(out_, t_, i, was_[i], cycles_[i].samples,
                     cycles_[i].refused + cycles_[i].spikes);
    }
  }

  climate::BenchNight sum_up(std::size_t b) const {
    climate::BenchNight night;
    const auto& ids = s_.settings->benches[b].sensors;
    Span gap(0);
    for (const SensorId id : ids)
      gap = std::max(gap, s_.sensors[index(id)].watch.covered_gap(s_.settings->watch));
    night.temperature = stretch(ids, false, s_.sunset, s_.sunrise, gap);
    night.day = stretch(ids, false, s_.cycle_from, s_.sunset, gap);
    if (night.temperature.coverage < s_.settings->watch.night_coverage) {
      const climate::Stretch any = stretch(ids, true, s_.sunset, s_.sunrise, gap);
      if (any.coverage >= s_.settings->watch.night_coverage) {
        night.temperature = any;
        night.suspect = true;
      }
    }
    std::vector<std::vector<Air>> humid;
    for (const SensorId id : ids)
      if (!cycles_[index(id)].humidity.empty()) humid.push_back(cycles_[index(id)].humidity);
    if (!humid.empty())
      night.mean_rh = climate::sum_up(fuse(humid, gap), s_.sunset, s_.sunrise, gap / 2).mean;
    if (!std::isnan(night.mean_rh) && !std::isnan(night.temperature.mean))
      night.vpd_kpa = climate::vapour_pressure_deficit_kpa(night.temperature.mean, night.mean_rh);
    return night;
  }

 private:
  double neighbours_moved(std::size_t sensor, Instant from, Instant to) const {
    double moved = 0;
    auto look = [&](SensorId id) {
      if (index(id) != sensor)
        moved = std::max(moved,
                         range_of(s_.sensors[index(id)].temperature, from, to, s_.settings->watch));
    };
    for (std::size_t b = 0; b < s_.benches.size(); ++b)
      if (s_.on_bench(b, sensor))
        std::for_each(s_.settings->benches[b].sensors.begin(),
                      s_.settings->benches[b].sensors.end(), look);
    return moved;
  }

  /// Whether the sensor's word counts while others are there.
  bool left_out(SensorId id) const {
    const Doubt doubt = s_.sensors[index(id)].watch.doubt;
    return doubt == Doubt::out_of_range || doubt == Doubt::spiking || doubt == Doubt::drifting;
  }

  climate::Stretch stretch(const std::vector<SensorId>& ids, bool doubted_too, Instant from,
                           Instant to, Span gap) const {
    std::vector<std::vector<Air>> speaking;
    for (const SensorId id : ids) {
      // A bench's only sensor is used even when it jumps: refused values and spikes are out
      // already.
      if (left_out(id) && !doubted_too && ids.size() > 1) continue;
      auto values = temperatures(cycles_[index(id)], doubted_too);
      if (!values.empty()) speaking.push_back(std::move(values));
    }
    if (speaking.empty()) return {};
    return climate::sum_up(fuse(speaking, gap), from, to, gap / 2);
  }

  /// Each sensor's own mean of the night, °C; NaN where it does not cover it.
  std::vector<double> night_means(const std::vector<SensorId>& ids) const {
    std::vector<double> means(ids.size(), climate::kUnknown);
    for (std::size_t k = 0; k < ids.size(); ++k) {
      const SensorState& sensor = s_.sensors[index(ids[k])];
      const Span gap = sensor.watch.covered_gap(s_.settings->watch);
      const auto own = climate::sum_up(temperatures(cycles_[index(ids[k])], false), s_.sunset,
                                       s_.sunrise, gap / 2);
      if (own.coverage >= s_.settings->watch.night_coverage) means[k] = own.mean;
    }
    return means;
  }

  climate::DriftWatch& drift_of(std::size_t b, SensorId id) {
    return s_.benches[b].drift[s_.settings->sensors[index(id)].name];
  }

  /// Of two that disagree nobody can tell which is right: both stay, and a person is told once.
  void judge_pair(std::size_t b) {
    const auto& ids = s_.settings->benches[b].sensors;
    if (ids.size() != 2) return;
    const std::vector<double> means = night_means(ids);
    if (std::isnan(means[0]) || std::isnan(means[1])) return;
    climate::DriftWatch& watch = drift_of(b, ids[0]);
    const double offset = means[0] - means[1], off = watch.off_c(offset),
                 limit = s_.settings->watch.drift_c;
    const bool agree = watch.take(offset, limit);
    bool& told = s_.benches[b].disagreement;
    if (agree) told = false;
    if (agree || told || !watch.strays(off, limit)) return;
    told = true;
    feeding::Evidence evidence;
    evidence.number("difference_c", offset, 2)
        .number("usual_difference_c", watch.usual_offset_c(), 2);
    s_.tell_notice(out_, t_, b, feeding::Cause::drifting, std::move(evidence),
                   fmt::format("Sensors {} and {} no longer agree; with two it cannot be told "
                               "which is right. Compare both with a thermometer.",
                               s_.settings->sensors[index(ids[0])].name,
                               s_.settings->sensors[index(ids[1])].name));
  }

  /// A humidity of 100 % for two days is fog or a soaked sensor; its temperature stays trusted.
  void judge_wet(std::size_t i) {
    SensorState& sensor = s_.sensors[i];
    const bool fresh = cycles_[i].wet && !sensor.wet;
    sensor.wet = cycles_[i].wet;
    for (std::size_t b = 0; fresh && b < s_.benches.size(); ++b) {
      if (!s_.on_bench(b, i)) continue;
      feeding::Evidence evidence;
      evidence.text("sensor", s_.settings->sensors[i].name);
      s_.tell_notice(out_, t_, b, feeding::Cause::wet, std::move(evidence),
                     fmt::format("Sensor {} has told 100 % humidity for two days: fog, or a soaked "
                                 "sensor. Its temperature is still used.",
                                 s_.settings->sensors[i].name));
    }
  }

  void judge_drift(std::size_t b) {
    const auto& ids = s_.settings->benches[b].sensors;
    if (ids.size() < 3) return;
    const std::vector<double> means = night_means(ids);
    // Only the one that disagrees most may be blamed a night, and only by mates that are trusted
    // themselves: else a sensor that strays would drag the others into doubt. Silence is told live
    // and depends on when readings arrived, so it must not touch the judgement of a night.
    const auto trusted = [&](std::size_t k) {
      const Doubt doubt = s_.sensors[index(ids[k])].watch.doubt;
      return !std::isnan(means[k]) && (doubt == Doubt::none || doubt == Doubt::silent);
    };
    std::size_t worst = ids.size();
    double worst_off = 0;
    for (std::size_t k = 0; k < ids.size(); ++k) {
      SensorState& sensor = s_.sensors[index(ids[k])];
      std::vector<double> mates;
      for (std::size_t j = 0; j < ids.size(); ++j)
        if (j != k && trusted(j)) mates.push_back(means[j]);
      if (std::isnan(means[k]) || mates.size() < 2) continue;
      climate::DriftWatch& drift = drift_of(b, ids[k]);
      const double offset = means[k] - median(mates);
      const double limit = s_.settings->watch.drift_c, off = drift.off_c(offset);
      const bool agrees = drift.take(offset, limit);
      if (agrees && sensor.watch.doubt == Doubt::drifting) sensor.watch.doubt = Doubt::none;
      if (trusted(k) && drift.strays(off, limit) && off > worst_off) {
        worst = k;
        worst_off = off;
      }
    }
    if (worst == ids.size()) return;
    SensorState& blamed = s_.sensors[index(ids[worst])];
    blamed.watch.doubt = Doubt::drifting;
    blamed.watch.doubted_since = s_.sunset;
  }

  Engine::State& s_;
  Outcome& out_;
  Instant t_;
  std::vector<Doubt> was_;
  std::vector<SensorCycle> cycles_;
};

}  // namespace

double Engine::State::light_h(std::size_t bench, climate::SolarDay day) {
  const double lamps = settings->benches[bench].lamps_h;
  return lamps > 0 ? lamps : rounded(sun.day_length_h(day), 4);
}

feeding::SeasonFacts Engine::State::season_facts(std::size_t b) {
  const Bench& bench = settings->benches[b];
  const season::Acclimation& acclimation = benches[b].season.acclimation;
  feeding::SeasonFacts facts;
  facts.learning = acclimation.counted() < kLearningNights;
  facts.tropical = sun.tropical();
  facts.learning_gently = !facts.tropical && (sun.days_shorten(night) || bench.nights_have_fallen);
  facts.light_h = light_h(b, night);
  facts.n14_c = acclimation.recent_c(14);
  facts.group_night_c = group_night_c(bench);
  facts.growing_night_c =
      acclimation.growing_night_c(bench.summer_night_c.value_or(group_middle_c(bench.group)));
  return facts;
}

void Engine::State::close_cycle(Outcome& out) {
  const Instant t = sunrise + kCloseAfterSunrise;
  Closing closing(*this, out, t);
  closing.judge_sensors();
  for (std::size_t b = 0; b < benches.size(); ++b) {
    BenchState& bench = benches[b];
    revise_last_night(b, t, out);
    feeding::NightFacts facts;
    facts.time = t;
    facts.night = night;
    facts.air = closing.sum_up(b);
    const climate::Stretch& air = facts.air.temperature;
    facts.counted = air.coverage >= settings->watch.night_coverage;
    if (facts.counted && facts.air.suspect) {
      const double level = bench.season.acclimation.recent_c(kLevelNights);
      facts.counted = std::isnan(level) || std::abs(air.mean - level) < kSuspectLevel_c;
    }
    if (facts.counted)
      facts.deficit_c = bench.season.acclimation.take(night, air.mean, settings->drops);
    facts.days_shorten = sun.days_shorten(night);
    facts.long_days = sun.long_day_half(night);
    close_position(b, facts.air, t, out);
    facts.season = season_facts(b);
    facts.season.counted = facts.counted;

    NightRow row;
    const auto acclimated = bench.season.acclimation.acclimated_c();
    row.acclimated_c = facts.deficit_c ? rounded(*facts.deficit_c + air.mean)
                                       : acclimated.value_or(climate::kUnknown);
    row.deficit_c = facts.deficit_c.value_or(climate::kUnknown);
    row.metabolic_rate = facts.deficit_c
                             ? season::relative_metabolic_rate(air.mean, row.acclimated_c)
                             : climate::kUnknown;
    bench.last = facts.air;
    bench.last_night = night;
    bench.last_rate = row.metabolic_rate;
    bench.last_deficit_c = row.deficit_c;

    bench.feeding.take_night(facts, bench.season, out.decisions);

    row.bench = settings->benches[b].name;
    row.night = climate::Sun::date_of(night);
    row.sunset = sunset;
    row.sunrise = sunrise;
    row.coverage = air.coverage;
    row.counted = facts.counted;
    row.mean_c = air.mean;
    row.minimum_c = air.minimum;
    row.mean_rh = facts.air.mean_rh;
    row.position = take_night_position(b);
    const auto share = bench.feeding.effective(t);
    row.feeding = share.feeding;
    row.strength_percent = share.percent;
    bench.last_row = row;
    out.nights.push_back(std::move(row));
  }
  for (std::size_t b = 0; b < benches.size(); ++b) advise_flush(b, t, out);
  count_days_behind(t, out);
  kept_from = sunset;
  for (SensorState& sensor : sensors) {
    sensor.temperature.forget_before(kept_from);
    sensor.humidity.forget_before(kept_from);
    sensor.late = 0;
  }
  begin_cycle(night + 1);
}

}  // namespace plainwater::engine
