#include "climate/sensor_watch.h"

#include <algorithm>
#include <cmath>

#include "common/statistics.h"

namespace plainwater::climate {
namespace {

constexpr double kSpikeLeast_c = 4.0, kSpikeMads = 6.0;
constexpr std::size_t kSpikeSide = 3;        // neighbours compared on each side
constexpr Span kSpikeSpan = hours(4);        // neighbours farther away prove nothing
constexpr std::size_t kIntervalCycles = 5;   // cycles used to learn the usual interval
constexpr std::size_t kIntervalSamples = 4;  // fewer in a cycle are not enough to learn from
constexpr Milli kFineResolution =
    100;  // 0.1 °C; a coarser sensor naturally stays longer at one value
constexpr double kCoarsestFactor = 8;
constexpr Span kStuckBesideNeighbours =
    hours(3);  // shorter runs happen, even while neighbours move
constexpr double kDoubtfulShare = 0.2;
constexpr int kDoubtfulSamples = 3;
constexpr Milli kWet = 99'500;  // 99.5 %RH
constexpr Span kWetAfter = hours(48);
constexpr Span kOnChangeSilence = hours(24);

}  // namespace

bool known_fault_value(Milli celsius) {
  return celsius == 85'000 || celsius == -127'000 || celsius == 127'940 || celsius == 127'938;
}

bool is_spike(double value, const std::vector<double>& neighbours) {
  if (neighbours.size() < 3) return false;
  const double off = std::abs(value - median(neighbours));
  return off > kSpikeLeast_c && off > kSpikeMads * scaled_mad(neighbours);
}

std::optional<Span> SensorWatch::usual_interval() const {
  if (intervals_s_.empty()) return std::nullopt;
  std::vector<std::int32_t> sorted = intervals_s_;
  std::sort(sorted.begin(), sorted.end());
  return seconds(sorted[sorted.size() / 2]);
}

Span SensorWatch::covered_gap(const SensorRules& rules) const {
  if (reports == Reports::on_change) return kOnChangeSilence;
  const Span least = from_days(rules.covered_gap_min / 1440);
  const auto usual = usual_interval();
  return usual ? std::max(least, 3 * *usual) : least;
}

std::optional<Span> SensorWatch::silent_after(const SensorRules& rules) const {
  if (reports == Reports::on_change) return kOnChangeSilence;
  const auto usual = usual_interval();
  if (!usual) return std::nullopt;
  return std::max(from_days(rules.silent_min / 1440),
                  from_days(rules.silent_intervals * days_of(*usual)));
}

void SensorWatch::learn_interval(const Series& series, Instant from, Instant to) {
  std::vector<std::int32_t> gaps_s;
  const std::size_t end = series.at_or_after(to);
  for (std::size_t i = series.at_or_after(from) + 1; i < end; ++i)
    gaps_s.push_back(static_cast<std::int32_t>(
        std::chrono::round<seconds>(series.time(i) - series.time(i - 1)).count()));
  if (gaps_s.size() + 1 < kIntervalSamples) return;
  std::sort(gaps_s.begin(), gaps_s.end());
  intervals_s_.push_back(std::max(1, gaps_s[gaps_s.size() / 2]));
  if (intervals_s_.size() > kIntervalCycles) intervals_s_.erase(intervals_s_.begin());
}

void believe(const Series& temperature, Instant from, Instant to, const SensorRules& rules,
             SensorCycle& cycle) {
  const std::size_t end = temperature.at_or_after(to);
  std::vector<Sample> in_range;
  auto bad = [&](Instant t) {
    if (cycle.first_bad == kNever) cycle.first_bad = t;
    cycle.last_bad = std::max(cycle.last_bad, t);
  };
  for (std::size_t i = temperature.at_or_after(from); i < end; ++i) {
    ++cycle.samples;
    const double value = from_milli(temperature.value(i));
    if (known_fault_value(temperature.value(i)) || value < rules.lowest_c ||
        value > rules.highest_c) {
      ++cycle.refused;
      bad(temperature.time(i));
    } else {
      in_range.push_back({temperature.time(i), value, false});
    }
  }
  std::vector<double> neighbours;
  for (std::size_t i = 0; i < in_range.size(); ++i) {
    neighbours.clear();
    std::size_t near = 0;
    for (std::size_t k = i - std::min(i, kSpikeSide); k <= i + kSpikeSide && k < in_range.size();
         ++k) {
      if (k == i || std::chrono::abs(in_range[k].time - in_range[i].time) > kSpikeSpan) continue;
      neighbours.push_back(in_range[k].value);
      near += std::abs(in_range[k].value - in_range[i].value) <= kSpikeLeast_c;
    }
    // With most neighbours close, their median is close too: the usual and cheap case.
    if (2 * near > neighbours.size()) {
      cycle.temperature.push_back(in_range[i]);
      continue;
    }
    if (is_spike(in_range[i].value, neighbours)) {
      ++cycle.spikes;
      bad(in_range[i].time);
    } else {
      cycle.temperature.push_back(in_range[i]);
    }
  }
}

std::vector<Instant> SensorWatch::walk_humidity(const Series& humidity, Instant from, Instant to,
                                                SensorCycle& cycle) {
  std::vector<Instant> changes;
  const std::size_t end = humidity.at_or_after(to);
  for (std::size_t i = humidity.at_or_after(from); i < end; ++i) {
    const Milli value = humidity.value(i);
    const Instant t = humidity.time(i);
    if (value < 0 || value > 100'000) continue;
    if (value != humid_value_ || humid_since_ == kNever) {
      humid_value_ = value;
      humid_since_ = t;
      changes.push_back(t);
    }
    if (value < kWet)
      wet_since_ = kNever;
    else if (wet_since_ == kNever)
      wet_since_ = t;
    if (wet_since_ != kNever && t - wet_since_ >= kWetAfter) cycle.wet = true;
    cycle.humidity.push_back({t, from_milli(value)});
  }
  return changes;
}

void SensorWatch::mark_stuck(const std::vector<Instant>& humidity_changes, const SensorRules& rules,
                             const NeighbourRange& neighbours, SensorCycle& cycle) {
  std::size_t next_change = 0;
  Instant humidity_changed = humidity_changes.empty() ? humid_since_ : kNever;
  std::size_t marked = 0;  // samples before it need not be checked again
  for (std::size_t i = 0; i < cycle.temperature.size(); ++i) {
    Sample& sample = cycle.temperature[i];
    const Milli value = to_milli(sample.value);
    if (value != run_value_ || run_since_ == kNever) {
      const Milli step = run_since_ == kNever ? 0 : std::abs(value - run_value_);
      if (step > 0 && (resolution_ == 0 || step < resolution_)) resolution_ = step;
      run_value_ = value;
      run_since_ = sample.time;
    }
    for (; next_change < humidity_changes.size() && humidity_changes[next_change] <= sample.time;
         ++next_change)
      humidity_changed = humidity_changes[next_change];
    // A soaked humidity sensor stays at 100 % anyway and proves nothing either way.
    const Instant since = cycle.wet ? run_since_ : std::max(run_since_, humidity_changed);
    const double factor =
        std::clamp(static_cast<double>(resolution_) / kFineResolution, 1.0, kCoarsestFactor);
    const Span run = sample.time - since;
    const bool long_run = run >= from_days(rules.stuck_h * factor / 24);
    const bool neighbours_moved = !long_run && run >= kStuckBesideNeighbours && resolution_ > 0 &&
                                  resolution_ <= kFineResolution &&
                                  neighbours(since, sample.time) >= rules.stuck_reference_c;
    cycle.stuck_at_end = reports == Reports::regularly && (long_run || neighbours_moved);
    if (!cycle.stuck_at_end) continue;
    for (std::size_t k = i + 1; k-- > marked && cycle.temperature[k].time >= since;)
      cycle.temperature[k].stuck = true;
    marked = i + 1;
    if (cycle.first_bad == kNever) cycle.first_bad = since;
    cycle.last_bad = std::max(cycle.last_bad, sample.time);
  }
}

void SensorWatch::settle_doubt(Instant to, const SensorRules& rules, const SensorCycle& cycle) {
  Doubt found = Doubt::none;
  const int bad = cycle.refused + cycle.spikes;
  if (cycle.stuck_at_end)
    found = Doubt::stuck;
  else if (bad >= kDoubtfulSamples && bad > kDoubtfulShare * cycle.samples)
    found = cycle.refused >= cycle.spikes ? Doubt::out_of_range : Doubt::spiking;
  if (found == Doubt::none) {
    const bool own_kind =
        doubt == Doubt::stuck || doubt == Doubt::out_of_range || doubt == Doubt::spiking;
    const bool good_for_long_enough =
        cycle.samples > 0 &&
        (cycle.last_bad == kNever || to - cycle.last_bad >= from_days(rules.trusted_after_h / 24));
    if (own_kind && good_for_long_enough) doubt = Doubt::none;
  } else if (doubt != found) {
    doubt = found;
    doubted_since = cycle.first_bad;
  }
}

SensorCycle SensorWatch::fold(const Series& temperature, const Series& humidity, Instant from,
                              Instant to, const SensorRules& rules,
                              const NeighbourRange& neighbours) {
  SensorCycle cycle;
  const Series& spoken = temperature.empty() ? humidity : temperature;
  learn_interval(spoken, from, to);
  believe(temperature, from, to, rules, cycle);
  mark_stuck(walk_humidity(humidity, from, to, cycle), rules, neighbours, cycle);
  settle_doubt(to, rules, cycle);
  return cycle;
}

}  // namespace plainwater::climate
