// Sensors and pumps.
#include <array>

#include "engine/sensor_phrases.h"
#include "metrics/families.h"

namespace plainwater::metrics {
namespace {

using climate::Doubt;

constexpr std::array kDoubts{Doubt::out_of_range, Doubt::spiking, Doubt::stuck, Doubt::drifting,
                             Doubt::silent};

}  // namespace

void add_things(const status::Status& status, Families& into) {
  auto trusted =
      gauge(into, "plainwater_sensor_trusted", "Whether what the sensor says is believed.");
  for (const auto& sensor : status.sensors)
    trusted.add(sensor.trusted ? 1 : 0, {{"sensor", sensor.name}});
  auto doubted =
      gauge(into, "plainwater_sensor_doubted", "Why the sensor is not believed: 1 for the cause.");
  for (const auto& sensor : status.sensors)
    for (const auto doubt : kDoubts)
      doubted.add(sensor.doubt == engine::name_of(doubt) ? 1 : 0,
                  {{"sensor", sensor.name}, {"cause", engine::name_of(doubt)}});
  auto last = gauge(into, "plainwater_sensor_last_reading_timestamp_seconds",
                    "Time of the sensor's newest reading.");
  for (const auto& sensor : status.sensors) last.add(sensor.last, {{"sensor", sensor.name}});
  auto on = gauge(into, "plainwater_sensor_bench", "Always 1; which bench the sensor belongs to.");
  for (const auto& bench : status.benches)
    for (const auto& sensor : bench.sensors)
      on.add(1, {{"sensor", sensor.name}, {"bench", bench.name}});

  auto armed = gauge(into, "plainwater_pump_armed",
                     "Whether the pump follows its orders; else they are advice.");
  for (const auto& pump : status.pumps) armed.add(pump.armed ? 1 : 0, {{"pump", pump.name}});
  auto pump_trusted = gauge(into, "plainwater_pump_trusted",
                            "0 after the pump disobeyed, until a person has looked after it.");
  for (const auto& pump : status.pumps)
    pump_trusted.add(pump.trusted ? 1 : 0, {{"pump", pump.name}});
  auto silent = gauge(into, "plainwater_pump_silent",
                      "Whether the pump has reported nothing for longer than the settings say.");
  for (const auto& pump : status.pumps) silent.add(pump.silent ? 1 : 0, {{"pump", pump.name}});
  auto report =
      gauge(into, "plainwater_pump_last_report_timestamp_seconds", "The pump's last report.");
  for (const auto& pump : status.pumps) report.add(pump.last_report, {{"pump", pump.name}});
  auto strength =
      gauge(into, "plainwater_pump_strength_ratio",
            "Strength that the pump may give, 0 to 1: the most careful of its benches.");
  for (const auto& pump : status.pumps)
    strength.add(pump.strength_percent / 100.0, {{"pump", pump.name}});
}

}  // namespace plainwater::metrics
