// Checks what a sensor's unit and scale make of a usual reading. A scale counts in °C, after the
// unit (intake/payload.cpp), so that one for another unit comes out wrong. These are warnings.
#include <fmt/format.h>

#include <cmath>

#include "settings/check.h"
#include "settings/keys.h"
#include "settings/reader.h"

namespace plainwater {
namespace {

bool is_about(double value, double other) { return std::abs(value - other) < 0.01 * other; }

struct Finding {
  std::string what, remedy;
};

/// 20 °C, as senders of tenths, hundredths and thousandths of the unit would send it.
Finding of_scale(const SensorMapping& sensor) {
  const double scale = sensor.scale;
  if (is_about(scale, 1.0) || (scale > 0.8 && scale < 1.25)) return {};  // a correction
  const bool fahrenheit = sensor.unit == Unit::fahrenheit;
  if (fahrenheit || sensor.unit == Unit::kelvin) {
    const bool converts = fahrenheit && (is_about(scale, 1 / 1.8) || is_about(scale, 1.8));
    const double sent = (fahrenheit ? 68 : 293.15) * (scale < 1 && !converts ? 1 / scale : 1);
    const double read = (fahrenheit ? (sent - 32) / 1.8 : sent - 273.15) * scale + sensor.offset_c;
    return {fmt::format("it multiplies what is in °C already: 20 °C, sent as {:g} {}, would be "
                        "read as {:.1f} °C",
                        sent, fahrenheit ? "°F" : "K", read),
            converts ? "leave it out: unit: fahrenheit converts already"
                     : "leave it out, and let the sensor send whole degrees and decimals"};
  }
  if (is_about(scale, 1 / 1.8) && !is_about(-sensor.offset_c, 32 / 1.8))
    return {"it is the 5/9 of °F to °C, without the 32 that must come off first",
            "leave it out and say unit: fahrenheit"};
  if (scale > 1.25 && scale <= 1000 &&
      (is_about(scale, 1.8) || is_about(scale, 10) || is_about(scale, 100) ||
       is_about(scale, 1000)))
    return {fmt::format("20 would be read as {:g} °C", 20 * scale + sensor.offset_c),
            is_about(scale, 1.8)
                ? "leave it out, and say unit: fahrenheit if that is what is sent"
                : fmt::format("for a sender of parts write {}", decimal(1 / std::round(scale)))};
  return {};
}

}  // namespace

void check_scale(const Draft& draft, Findings& findings) {
  for (const SensorMapping& sensor : draft.settings.mappings) {
    const std::string path = "sensors." + path_part(sensor.name), key = path + ".scale";
    if (draft.doubtful(path) || !draft.lines.contains(key)) continue;
    const bool has_temperature = sensor.form == PayloadForm::number
                                     ? sensor.quantity == Quantity::temperature
                                     : !sensor.temperature.empty();
    Finding found = of_scale(sensor);
    if (!has_temperature && sensor.scale != 1)
      found = {"it scales the temperature, and this entry reads none", "leave it out"};
    if (!found.what.empty())
      findings.warnings.push_back(
          {draft.line(key), key, std::move(found.what), std::move(found.remedy)});
  }
}

}  // namespace plainwater
