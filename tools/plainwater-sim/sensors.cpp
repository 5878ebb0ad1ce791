#include "plainwater-sim/sensors.h"

#include <fmt/format.h>

#include <algorithm>

#include "common/json_text.h"

namespace plainwater::sim {
namespace {

double fahrenheit(double celsius) { return celsius * 1.8 + 32.0; }

/// The number for the temperature field, in the sensor's own unit and resolution.
std::string shown_temperature(const Report& report) {
  const bool in_fahrenheit = report.shows_fahrenheit || report.sensor->wire == Wire::fahrenheit;
  const double value = in_fahrenheit ? fahrenheit(report.temperature_c) : report.temperature_c;
  return fixed(value, report.sensor->wire == Wire::senml ? 2 : 1);
}

}  // namespace

Report measure(const House& house, const Noise& noise, const Sensor& sensor, Instant t) {
  const Air air = house.air(sensor.place, t);
  const auto stream = 100 + 2 * static_cast<std::uint64_t>(&sensor - kSensors.data());
  const std::int64_t second = to_seconds(t);
  return {
      .sensor = &sensor,
      .time = t,
      .temperature_c = air.temperature_c + sensor.offset_c + 0.08 * noise.normal(stream, second),
      .humidity_rh =
          std::clamp(air.humidity_rh + 0.6 * noise.normal(stream + 1, second), 1.0, 99.9)};
}

std::string topic_of(const Sensor& sensor) {
  switch (sensor.wire) {
    case Wire::json: return fmt::format("ternbank/air/{}", sensor.name);
    case Wire::senml: return fmt::format("ternbank/senml/{}", sensor.name);
    case Wire::fahrenheit: return fmt::format("ternbank/fahrenheit/{}", sensor.name);
  }
  return {};
}

std::string payload_of(const Report& report) {
  const std::string t = shown_temperature(report), rh = fixed(report.humidity_rh, 1);
  switch (report.sensor->wire) {
    case Wire::json:
      return fmt::format(R"({{"t":{},"rh":{},"time":"{}"}})", t, rh, format_rfc3339(report.time));
    case Wire::senml:
      return fmt::format(
          R"([{{"bn":"{}:","bt":{},"n":"temperature","u":"Cel","v":{}}},{{"n":"humidity","u":"%RH","v":{}}}])",
          report.sensor->name, to_seconds(report.time), t, rh);
    case Wire::fahrenheit:
      return fmt::format(R"({{"temp_f":{},"rh":{},"ts":{}}})", t, rh, to_seconds(report.time));
  }
  return {};
}

std::string csv_line(const Report& report) {
  std::string t = shown_temperature(report);
  // This sensor's °F is intended: a payload's reader converts it to °C, and so must the file.
  if (report.sensor->wire == Wire::fahrenheit && !report.shows_fahrenheit)
    t = fixed((std::stod(t) - 32.0) / 1.8, 3);
  return fmt::format("{},{},{},{}", format_rfc3339(report.time), report.sensor->name, t,
                     fixed(report.humidity_rh, 1));
}

}  // namespace plainwater::sim
