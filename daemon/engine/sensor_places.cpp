#include "engine/sensor_places.h"

#include <algorithm>

namespace plainwater::engine {

bool on_bench(const Bench& bench, std::size_t sensor) {
  return std::find(bench.sensors.begin(), bench.sensors.end(),
                   SensorId(static_cast<std::uint32_t>(sensor))) != bench.sensors.end();
}

std::string bench_of(const Settings& settings, std::size_t sensor) {
  for (const Bench& bench : settings.benches)
    if (on_bench(bench, sensor)) return bench.name;
  return {};
}

bool tells_air(const Settings& settings, std::size_t sensor) {
  const std::string& name = settings.sensors[sensor].name;
  return !bench_of(settings, sensor).empty() || name == settings.site.outdoor_reference ||
         name == settings.site.indoor_reference;
}

}  // namespace plainwater::engine
