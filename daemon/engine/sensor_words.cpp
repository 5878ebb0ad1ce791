#include "engine/sensor_words.h"

#include <fmt/format.h>

namespace plainwater::engine {

using climate::Doubt;
using feeding::Cause;

feeding::Cause cause_of(Doubt doubt) {
  switch (doubt) {
    case Doubt::none: return Cause::good_values;
    case Doubt::out_of_range: return Cause::out_of_range;
    case Doubt::spiking: return Cause::spiking;
    case Doubt::stuck: return Cause::stuck;
    case Doubt::drifting: return Cause::drifting;
    case Doubt::silent: return Cause::silent;
  }
  return Cause::none;
}

const char* name_of(Doubt doubt) {
  return doubt == Doubt::none ? "" : feeding::name_of(cause_of(doubt));
}

std::string doubted(const std::string& sensor, Doubt doubt, const std::string& bench) {
  const std::string where = bench.empty() ? "" : fmt::format(" on bench {}", bench);
  switch (doubt) {
    case Doubt::out_of_range:
      return fmt::format(
          "Sensor {}{} gives values that no greenhouse has; check its wiring and unit.", sensor,
          where);
    case Doubt::spiking:
      return fmt::format("Sensor {}{} jumps about; check its contacts.", sensor, where);
    case Doubt::stuck:
      return fmt::format("Sensor {}{} has not changed for too long; it may be frozen.", sensor,
                         where);
    case Doubt::drifting:
      return fmt::format(
          "Sensor {}{} no longer agrees with its neighbours; compare it with a thermometer.",
          sensor, where);
    case Doubt::silent:
      return fmt::format("Sensor {}{} has fallen silent; check its power and its radio.", sensor,
                         where);
    case Doubt::none: break;
  }
  return {};
}

std::string trusted_again(const std::string& sensor, Doubt was) {
  return fmt::format("Sensor {} is trusted again (it was {}).", sensor, name_of(was));
}

}  // namespace plainwater::engine
