#include "pump-stand-in/report.h"

#include "common/json_text.h"

namespace plainwater::pump {
namespace {

constexpr int kDecimals = 3;

}  // namespace

std::string report_json(const Watering& watering, const std::string& pump,
                        const std::optional<Totals>& totals) {
  JsonObject json;
  if (watering.time) json.text("time", format_rfc3339(*watering.time));
  json.text("pump", pump);
  if (totals)
    json.number("litres_total", totals->litres, kDecimals)
        .number("feed_ml_total", totals->feed_ml, kDecimals);
  else
    json.number("litres", watering.litres, kDecimals)
        .number("feed_ml", watering.metered_ml, kDecimals);
  json.integer("strength_percent", watering.strength_percent);
  if (watering.ec) json.number("ec", *watering.ec, kDecimals);
  if (watering.number)
    json.integer("epoch", watering.number->epoch).integer("sequence", watering.number->sequence);
  return json.str();
}

std::string log_json(const Watering& watering) {
  JsonObject json;
  json.raw("time", watering.time ? json_string(format_rfc3339(*watering.time)) : "null")
      .text("bench", watering.bench)
      .number("litres", watering.litres, kDecimals)
      .integer("strength_percent", watering.strength_percent)
      .number("feed_ml", watering.feed_ml, kDecimals)
      .raw("ec", watering.ec ? fixed(*watering.ec, kDecimals) : "null")
      .raw("epoch", watering.number ? std::to_string(watering.number->epoch) : "null")
      .raw("sequence", watering.number ? std::to_string(watering.number->sequence) : "null")
      .raw("plain_water_because",
           watering.why == Why::feed ? "null" : json_string(name_of(watering.why)));
  return json.str();
}

}  // namespace plainwater::pump
