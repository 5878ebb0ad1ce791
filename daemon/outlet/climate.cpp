#include "outlet/climate.h"

#include "common/json_shapes.h"

namespace plainwater::outlet {

std::string sensor_json(const engine::SensorNow& sensor) {
  return JsonObject()
      .text("name", sensor.name)
      .boolean("trusted", sensor.trusted)
      .raw("doubt", text_or_null(sensor.doubt))
      .raw("last", time_or_null(sensor.last))
      .number("temperature_c", sensor.temperature_c, 2)
      .number("humidity_percent", sensor.humidity_rh, 1)
      .str();
}

std::string announced_json(const feeding::Announced& announced) {
  return JsonObject()
      .text("id", announced.id)
      .text("from", format_rfc3339(announced.from))
      .text("until", format_rfc3339(announced.until))
      .text("who", announced.who)
      .text("note", announced.note)
      .str();
}

std::string questions_json(const engine::BenchNow& bench, const words::Reader& reader) {
  return array(bench.questions, [&](const feeding::Question& question) {
    return json_string(reader(question.said));
  });
}

JsonObject& add_air(JsonObject& json, const engine::BenchNow& bench) {
  return json.number("temperature_c", bench.temperature_c, 2)
      .number("humidity_percent", bench.humidity_rh, 1)
      .number("vpd_kpa", bench.vpd_kpa, 3)
      .number("dew_point_c", bench.dew_point_c, 2)
      .number("absolute_humidity_gm3", bench.absolute_humidity_gm3, 2);
}

JsonObject& add_season(JsonObject& json, const engine::BenchNow& bench) {
  return json.number("day_mean_c", bench.day_mean_c, 2)
      .number("day_maximum_c", bench.day_maximum_c, 2)
      .number("dif_c", bench.dif_c, 2)
      .number("acclimated_c", bench.acclimated_c, 2)
      .number("deficit_c", bench.deficit_c, 2)
      .number("metabolic_rate", bench.metabolic_rate, 3);
}

std::string climate_json(const engine::BenchNow& bench, Instant now) {
  JsonObject json;
  json.text("bench", bench.name)
      .text("time", format_rfc3339(now))
      .raw("air_time", time_or_null(bench.air_time));
  add_air(json, bench)
      .raw("night", text_or_null(bench.night))
      .number("night_mean_c", bench.night_mean_c, 2)
      .number("night_minimum_c", bench.night_minimum_c, 2)
      .number("night_coverage", bench.night_coverage, 3);
  return add_season(json, bench)
      .integer("counted_nights", bench.counted_nights)
      .boolean("learning", bench.learning)
      .boolean("blind", bench.blind)
      .number("plain_water_days_in_year", bench.plain_water_days_in_year, 1)
      .number("salts_ec", bench.salts_ec, 2)
      .number("salts_doubt_ec", bench.salts_doubt_ec, 2)
      .number("flush_litres", bench.flush_l, 1)
      .raw("watered", time_or_null(bench.watered))
      .raw("questions", questions_json(bench))
      .raw("announced", array(bench.announced, announced_json))
      .raw("exempt_until", time_or_null(bench.exempt_until))
      .raw("cold_passes_until", time_or_null(bench.cold_passes_until))
      .raw("sensors", array(bench.sensors, sensor_json))
      .str();
}

}  // namespace plainwater::outlet
