// The sensors of Tern Bank: where each hangs, its error, and its message format.
#pragma once

#include <array>
#include <string>
#include <string_view>

#include "plainwater-sim/house.h"

namespace plainwater::sim {

enum class Wire { json, senml, fahrenheit };

struct Sensor {
  std::string_view name;
  Place place;
  Wire wire;
  double offset_c;  ///< its calibration error
  int second;       ///< the second of its interval at which it reports
};

inline constexpr std::array<Sensor, 9> kSensors = {{
    {"mist-a", Place::mist, Wire::json, 0.1, 3},
    {"mist-b", Place::mist, Wire::json, -0.2, 7},
    {"long-a", Place::long_bench, Wire::json, 0.0, 11},
    {"long-b", Place::long_bench, Wire::json, 0.3, 18},
    {"long-c", Place::long_bench, Wire::fahrenheit, -0.1, 23},
    {"cold-end-a", Place::cold_end, Wire::senml, 0.0, 31},
    {"courtyard-a", Place::courtyard, Wire::json, 0.1, 38},
    {"weather", Place::outdoors, Wire::json, 0.0, 44},
    {"parlour", Place::parlour, Wire::json, -0.1, 52},
}};

/// One sensor's report at one time, in the resolution of its display.
struct Report {
  const Sensor* sensor = nullptr;
  Instant time{};
  double temperature_c = 0;
  double humidity_rh = 0;
  bool shows_fahrenheit = false;  ///< a fault: the number in the °C field is °F
};

/// What the sensor would report without a fault.
Report measure(const House& house, const Noise& noise, const Sensor& sensor, Instant t);
std::string topic_of(const Sensor& sensor);
std::string payload_of(const Report& report);
/// A line of a rehearsal CSV, without line end: time,sensor,temperature_c,humidity_percent
std::string csv_line(const Report& report);

}  // namespace plainwater::sim
