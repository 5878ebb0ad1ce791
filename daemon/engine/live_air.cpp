#include "engine/live_air.h"

#include <cmath>

#include "climate/night.h"
#include "climate/sun.h"
#include "common/statistics.h"
#include "engine/sensor_places.h"

namespace plainwater::engine {

using climate::Doubt;
using climate::Series;
using season::Sighting;

namespace {

constexpr std::size_t kEarlierNeighbours = 6;
constexpr Span kNeighbourSpan = hours(6);
constexpr Span kReferenceHolds = hours(3);  ///< an older reference says nothing
constexpr Span kSameReading = minutes(1);   ///< how far apart temperature and humidity may come

/// The newest believable temperature at or before `t`, judged by earlier readings only.
std::optional<climate::Air> believable(const Series& series, Instant t, const SensorRules& rules) {
  std::size_t i = series.at_or_after(t + Span(1));
  while (i-- > 0) {
    if (!in_range(series.value(i), rules)) continue;
    std::vector<double> earlier;
    for (std::size_t k = i; k-- > 0 && earlier.size() < kEarlierNeighbours &&
                            series.time(i) - series.time(k) <= kNeighbourSpan;)
      if (in_range(series.value(k), rules)) earlier.push_back(from_milli(series.value(k)));
    if (climate::is_spike(from_milli(series.value(i)), earlier)) {
      // A jump that the previous reading shares is no spike.
      const double before = earlier.front();
      if (std::abs(before - from_milli(series.value(i))) > 2.0) continue;
    }
    return climate::Air{series.time(i), from_milli(series.value(i))};
  }
  return std::nullopt;
}

/// The newest possible temperature at or before `t`, °C; NaN when it is older than `holds`. Keeps
/// single spikes, because the first reading after a move looks like one; the filter gives them
/// little weight.
double newest_c(const climate::Series& series, Instant t, Span holds, const SensorRules& rules) {
  for (std::size_t i = series.at_or_after(t + Span(1)); i-- > 0 && t - series.time(i) <= holds;) {
    const double c = from_milli(series.value(i));
    if (!climate::known_fault_value(series.value(i)) && c >= rules.lowest_c && c <= rules.highest_c)
      return c;
  }
  return climate::kUnknown;
}

/// The humidity read with the temperature at `t`, %RH; NaN when there is none. One from another
/// minute belongs to another temperature and would give a wrong vapour.
double humidity_beside(const climate::Series& series, Instant t) {
  for (std::size_t i = series.at_or_after(t + kSameReading + Span(1));
       i-- > 0 && series.time(i) >= t - kSameReading;)
    if (possible_humidity(series.value(i))) return from_milli(series.value(i));
  return climate::kUnknown;
}

/// Frozen or wild values say nothing about a place; a silent sensor's are excluded by their age.
bool speaks(const SensorState& sensor) {
  return sensor.watch.doubt == climate::Doubt::none || sensor.watch.doubt == climate::Doubt::silent;
}

}  // namespace

bool in_range(Milli value, const SensorRules& rules) {
  const double c = from_milli(value);
  return !climate::known_fault_value(value) && c >= rules.lowest_c && c <= rules.highest_c;
}

bool possible(Quantity quantity, Milli value, const SensorRules& rules) {
  switch (quantity) {
    case Quantity::temperature: return in_range(value, rules);
    case Quantity::humidity: return possible_humidity(value);
    case Quantity::place: return true;
  }
  return true;
}

LiveAir live_air(const Bench& bench, const Sensors& sensors, Instant t, const SensorRules& rules) {
  std::vector<double> temperatures, humidities;
  LiveAir result;
  for (const SensorId id : bench.sensors) {
    const SensorState& sensor = sensors[index(id)];
    if (sensor.watch.doubt != Doubt::none && sensor.watch.doubt != Doubt::silent &&
        bench.sensors.size() > 1)
      continue;
    const Span gap = sensor.watch.covered_gap(rules);
    if (const auto found = believable(sensor.temperature, t, rules);
        found && t - found->time <= gap) {
      temperatures.push_back(found->value);
      result.time = std::max(result.time, found->time);
    }
    std::size_t h = sensor.humidity.at_or_after(t + Span(1));
    const auto fresh = [&] { return h > 0 && t - sensor.humidity.time(h - 1) <= gap; };
    while (fresh() && !possible_humidity(sensor.humidity.value(h - 1))) --h;
    if (fresh()) humidities.push_back(from_milli(sensor.humidity.value(h - 1)));
  }
  result.temperature_c = median(temperatures);
  result.humidity_rh = median(humidities);
  return result;
}

Sighting sight(const Bench& bench, const Sensors& sensors, Instant t, const Settings& settings) {
  Sighting s;
  s.time = t;
  s.sun = climate::sine_of_elevation(settings.site.latitude_deg, settings.site.longitude_deg, t);
  std::vector<double> values, humidities;
  for (const SensorId id : bench.sensors) {
    const SensorState& sensor = sensors[index(id)];
    const double c = speaks(sensor)
                         ? newest_c(sensor.temperature, t, sensor.watch.covered_gap(settings.watch),
                                    settings.watch)
                         : climate::kUnknown;
    if (!std::isnan(c)) values.push_back(c);
    const double rh = humidity_beside(sensor.humidity, t);
    if (!std::isnan(c) && !std::isnan(rh)) humidities.push_back(rh);
  }
  s.bench_c = median(std::move(values));
  s.humidity_rh = median(std::move(humidities));
  const auto reference = [&](const std::string& name) {
    const auto id = settings.sensor(name);
    if (name.empty() || !id || on_bench(bench, index(*id)) || !speaks(sensors[index(*id)]))
      return climate::kUnknown;
    return newest_c(sensors[index(*id)].temperature, t, kReferenceHolds, settings.watch);
  };
  s.outdoor_c = reference(settings.site.outdoor_reference);
  s.indoor_c = reference(settings.site.indoor_reference);
  return s;
}

}  // namespace plainwater::engine
