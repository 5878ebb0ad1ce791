#include "board/now.h"

#include <algorithm>

#include "common/json_shapes.h"
#include "feeding/salts.h"
#include "orders/order.h"
#include "outlet/climate.h"
#include "outlet/placard.h"
#include "outlet/service_state.h"

namespace plainwater::board {
namespace {

using engine::BenchNow;

std::string hold_json(const BenchNow& bench, const Settings& settings) {
  const auto& hold = *bench.hold;
  JsonObject json;
  return orders::add_hold(json, hold)
      .raw("decides",
           hold.provisional ? time_or_null(outlet::decision_day(bench, settings)) : "null")
      .str();
}

std::string place_json(const engine::PlaceNow& place) {
  static constexpr const char* kMoves[] = {"never", "declared", "watched"};
  return JsonObject()
      .text("position", name_of(place.position))
      .text("last_known", name_of(place.last_known))
      .text("pattern", season::name_of(place.pattern))
      .text("moves", kMoves[static_cast<std::size_t>(place.moves)])
      .number("probability", place.probability, 2)
      .raw("since", time_or_null(place.since))
      .str();
}

/// Whether the air is older than the bench's sensors usually let it become: twice what lies between
/// their readings, an hour where that is not learnt yet.
bool is_late(const BenchNow& bench, Instant now) {
  constexpr Span kLeast = minutes(10), kUnlearnt = hours(1);
  Span usual{};
  for (const auto& sensor : bench.sensors)
    if (sensor.usual > Span{} && (usual == Span{} || sensor.usual < usual)) usual = sensor.usual;
  const Span most = usual == Span{} ? kUnlearnt : std::max(kLeast, 2 * usual);
  return bench.air_time != kNever && now - bench.air_time > most;
}

std::string air_json(const BenchNow& bench, Instant now) {
  JsonObject json;
  json.raw("time", time_or_null(bench.air_time)).boolean("late", is_late(bench, now));
  return outlet::add_air(json, bench).str();
}

std::string night_json(const BenchNow& bench) {
  JsonObject json;
  json.raw("date", text_or_null(bench.night))
      .number("mean_c", bench.night_mean_c, 2)
      .number("minimum_c", bench.night_minimum_c, 2)
      .number("coverage", bench.night_coverage, 3);
  return outlet::add_season(json, bench).integer("counted", bench.counted_nights).str();
}

std::string salts_json(const BenchNow& bench, const Bench& told) {
  if (told.pots == 0) return "null";
  return JsonObject()
      .number("ec", bench.salts_ec, 2)
      .number("doubt_ec", bench.salts_doubt_ec, 2)
      .number("flush_above_ec", feeding::flush_above_ec(told), 2)
      .number("flush_litres", bench.flush_l, 1)
      .str();
}

std::string pump_json(const engine::PumpNow& pump) {
  return JsonObject()
      .text("name", pump.name)
      .boolean("armed", pump.armed)
      .boolean("trusted", pump.trusted)
      .boolean("silent", pump.silent)
      .raw("benches",
           array(pump.benches, [](const std::string& name) { return json_string(name); }))
      .text("feeding", feeding::name_of(pump.feeding))
      .integer("strength_percent", pump.strength_percent)
      .raw("limited_by", text_or_null(pump.limited_by))
      .raw("last_report", time_or_null(pump.last_report))
      .str();
}

std::string service_json(const status::Service& service) {
  return JsonObject()
      .text("instance", service.instance)
      .text("version", service.version)
      .raw("engine_time", time_or_null(service.now))
      .raw("started", time_or_null(service.started))
      .text("store", service.store)
      .text("clock", outlet::clock_word(service))
      .boolean("backlog", !service.drained)
      .integer("readings", static_cast<std::int64_t>(service.readings))
      .integer("rules_revision", service.rules_revision)
      .str();
}

Instant until(const BenchNow& bench, const Settings& settings) {
  if (bench.feeding != feeding::Feeding::plain_water) return kNever;
  if (!bench.hold) return bench.cause == feeding::Cause::chill ? bench.chilled_until : kNever;
  return bench.hold->provisional ? outlet::decision_day(bench, settings) : bench.hold->planned_end;
}

}  // namespace

std::string site_json(const Settings& settings) {
  return JsonObject()
      .text("name", settings.site.name)
      .text("time_zone", settings.site.time_zone)
      .text("unit", settings.board.unit == ShownUnit::fahrenheit ? "fahrenheit" : "celsius")
      .str();
}

std::string need_json(const Need& need, const words::Reader& reader) {
  return JsonObject()
      .text("id", need.matter.id())
      .text("urgency", notices::name_of(need.matter.urgency))
      .text("kind", need.matter.kind)
      .raw("bench", text_or_null(need.matter.bench))
      .raw("pump", text_or_null(need.matter.pump))
      .raw("since", time_or_null(need.matter.since))
      .raw("acknowledged_by", text_or_null(need.acknowledged_by))
      .text("text", reader(need.matter.said))
      .str();
}

std::string bench_json(const status::Status& status, std::size_t at, const Settings& settings) {
  const BenchNow& bench = status.benches[at];
  const Bench& told = settings.benches[at];
  const auto* pump = engine::pump_of(status.pumps, bench.name);
  const auto order = status.orders.find(bench.name);
  const words::Reader reader = settings.board.reader();
  const bool in_force = order != status.orders.end() && order->second.in_force(status.service.now);
  return JsonObject()
      .text("name", bench.name)
      .text("group", name_of(told.group))
      .number("group_night_c", group_night_c(told), 1)
      .number("chill_floor_c", chill_floor_c(told), 1)
      .text("feeding", feeding::name_of(bench.feeding))
      .integer("strength_percent",
               bench.feeding == feeding::Feeding::plain_water ? 0 : bench.strength_percent)
      .text("cause", feeding::name_of(bench.cause))
      .text("because", reader(bench.because))
      .raw("since", time_or_null(bench.since))
      .raw("until", time_or_null(until(bench, settings)))
      .raw("hold", bench.hold ? hold_json(bench, settings) : "null")
      .raw("place", place_json(bench.place))
      .raw("air", air_json(bench, status.service.now))
      .raw("night", night_json(bench))
      .boolean("learning", bench.learning)
      .boolean("blind", bench.blind)
      .number("plain_water_days_in_year", bench.plain_water_days_in_year, 1)
      .raw("salts", salts_json(bench, told))
      .raw("watered", time_or_null(bench.watered))
      .raw("questions", outlet::questions_json(bench, reader))
      .raw("announced", array(bench.announced, outlet::announced_json))
      .raw("sensors", array(bench.sensors, outlet::sensor_json))
      .raw("pump", pump ? json_string(pump->name) : "null")
      .raw("order", in_force ? orders::to_json(order->second.order, reader) : "null")
      .str();
}

std::string house_json(const status::Status& status, const Settings& settings,
                       const std::vector<std::string>* benches) {
  JsonObject json;
  json.raw("time", time_or_null(status.service.now))
      .raw("site", site_json(settings))
      .raw("service", service_json(status.service))
      .raw("absence", outlet::absence_json(status.service.absence))
      .raw("needs",
           array(needs(status, settings),
                 [&](const Need& need) { return need_json(need, settings.board.reader()); }))
      .raw("pumps", array(status.pumps, pump_json));
  if (benches != nullptr)
    json.raw("benches",
             array(*benches, [](const std::string& bench) -> const std::string& { return bench; }));
  return json.str();
}

}  // namespace plainwater::board
