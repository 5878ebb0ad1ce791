#include "orders/order.h"

#include <algorithm>
#include <boost/json.hpp>

#include "common/json_text.h"

namespace plainwater::orders {
namespace {

bool same(const feeding::HoldView& a, const feeding::HoldView& b) {
  return a.id == b.id && a.cause == b.cause && a.provisional == b.provisional &&
         a.placed == b.placed && a.earliest_end == b.earliest_end &&
         a.planned_end == b.planned_end && a.latest_end == b.latest_end;
}

std::string hold_json(const feeding::HoldView& hold) {
  JsonObject json;
  return add_hold(json, hold).str();
}

std::string dose_json(const feeding::Dose& dose) {
  JsonObject json;
  json.text("recipe", dose.recipe)
      .text("water", dose.water)
      .number("ml_per_litre", dose.ml_per_litre, 3);
  if (dose.injector_ratio > 0)
    json.number("injector_ratio", dose.injector_ratio, 1);
  else
    json.raw("injector_ratio", "null");
  json.number("ppm_n", dose.ppm_n, 1).number("ec", dose.ec, 3).number("water_ec", dose.water_ec, 3);
  return json
      .raw("problem", dose.problem == feeding::DoseProblem::none
                          ? "null"
                          : json_string(feeding::name_of(dose.problem)))
      .str();
}

words::Sentence in_words(feeding::DoseProblem problem) {
  switch (problem) {
    case feeding::DoseProblem::too_little: return words::say("dose.too-little");
    case feeding::DoseProblem::too_much: return words::say("dose.too-much");
    case feeding::DoseProblem::over_refusal: return words::say("dose.over-refusal");
    case feeding::DoseProblem::none: break;
  }
  return {};
}

std::string text_at(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  return value != nullptr && value->is_string()
             ? std::string(value->get_string().data(), value->get_string().size())
             : std::string();
}

std::optional<std::int64_t> integer_at(const boost::json::object& object, std::string_view key) {
  const auto* value = object.if_contains({key.data(), key.size()});
  return value != nullptr && value->is_int64() ? std::optional(value->get_int64()) : std::nullopt;
}

}  // namespace

bool OrderContent::stock_open() const {
  return feeding != feeding::Feeding::plain_water && !(pump && pump->plain_water);
}

bool OrderContent::operator==(const OrderContent& other) const {
  const bool same_hold =
      hold.has_value() == other.hold.has_value() && (!hold || same(*hold, *other.hold));
  return same_hold && bench == other.bench && feeding == other.feeding &&
         strength_percent == other.strength_percent && cause == other.cause &&
         because == other.because && pump == other.pump;
}

JsonObject& add_hold(JsonObject& json, const feeding::HoldView& hold) {
  return json.integer("id", hold.id)
      .text("cause", feeding::name_of(hold.cause))
      .boolean("provisional", hold.provisional)
      .text("placed", format_rfc3339(hold.placed))
      .text("earliest_end", format_rfc3339(hold.earliest_end))
      .text("planned_end", format_rfc3339(hold.planned_end))
      .text("latest_end", format_rfc3339(hold.latest_end));
}

OrderContent content_of(const engine::BenchNow& bench, const std::vector<engine::PumpNow>& pumps) {
  return content_by(bench, engine::pump_of(pumps, bench.name));
}

OrderContent content_by(const engine::BenchNow& bench, const engine::PumpNow* pump) {
  OrderContent content{bench.name,  bench.feeding, bench.strength_percent,
                       bench.cause, bench.because, bench.hold,
                       std::nullopt};
  if (content.feeding == feeding::Feeding::plain_water) content.strength_percent = 0;
  if (pump != nullptr) {
    const bool plain = pump->feeding == feeding::Feeding::plain_water;
    content.pump =
        OrderPump{pump->name,       pump->armed,   plain,     plain ? 0 : pump->strength_percent,
                  pump->limited_by, pump->trusted, pump->dose};
    if (content.feeding != feeding::Feeding::plain_water && pump->dose &&
        pump->dose->problem != feeding::DoseProblem::none)
      content.because += in_words(pump->dose->problem);
  }
  return content;
}

std::optional<int> commanded_strength(const OrderContent& content) {
  if (!content.pump) return std::nullopt;
  return content.pump->armed && content.stock_open()
             ? std::min(content.pump->strength_percent, content.strength_percent)
             : 0;
}

bool takes_feed_away(const OrderContent& before, const OrderContent& after) {
  if (after.strength_percent < before.strength_percent) return true;
  if (before.stock_open() && !after.stock_open()) return true;
  if (!before.pump || !after.pump || before.pump->name != after.pump->name)
    return before.pump.has_value() || after.pump.has_value();
  const OrderPump &had = *before.pump, &has = *after.pump;
  const auto ml = [](const OrderPump& pump) { return pump.dose ? pump.dose->ml_per_litre : 0; };
  return (had.armed && !has.armed) || has.strength_percent < had.strength_percent ||
         ml(has) < ml(had);
}

std::string to_json(const Order& order, const words::Reader& reader) {
  const OrderContent& c = order.content;
  JsonObject json;
  json.text("bench", c.bench)
      .text("feeding", feeding::name_of(c.feeding))
      .integer("strength_percent", c.strength_percent)
      .text("stock", c.stock_open() ? "open" : "locked")
      .text("cause", feeding::name_of(c.cause))
      .text("because", reader(c.because))
      .raw("hold", c.hold ? hold_json(*c.hold) : "null")
      .text("issued", format_rfc3339(order.issued))
      .text("valid_until", format_rfc3339(order.valid_until))
      .integer("epoch", order.number.epoch)
      .integer("sequence", order.number.sequence);
  if (c.pump)
    json.text("pump", c.pump->name)
        .text("pump_mode", c.pump->armed ? "armed" : "advise")
        .integer("pump_strength_percent", c.pump->strength_percent)
        .raw("limited_by", c.pump->limited_by.empty() ? "null" : json_string(c.pump->limited_by))
        .boolean("untrusted", !c.pump->trusted)
        .raw("dose", c.pump->dose ? dose_json(*c.pump->dose) : "null");
  else
    json.raw("pump", "null")
        .text("pump_mode", "advise")
        .raw("pump_strength_percent", "null")
        .raw("limited_by", "null")
        .boolean("untrusted", false)
        .raw("dose", "null");
  json.text("instance", order.instance)
      .raw("history_since",
           order.history_since ? json_string(format_rfc3339(*order.history_since)) : "null");
  if (!order.store.id.empty()) json.text("store", order.store.id);
  if (!order.store.lineage.empty()) json.text("lineage", order.store.lineage);
  return json.str();
}

std::optional<OrderStamp> read_stamp(std::string_view json) {
  boost::system::error_code fault;
  const auto value = boost::json::parse({json.data(), json.size()}, fault);
  if (fault || !value.is_object()) return std::nullopt;
  const auto epoch = integer_at(value.get_object(), "epoch"),
             sequence = integer_at(value.get_object(), "sequence");
  const auto valid_until = parse_rfc3339(text_at(value.get_object(), "valid_until"));
  if (!epoch || !sequence || !valid_until) return std::nullopt;
  OrderStamp stamp{{*epoch, *sequence},
                   *valid_until,
                   text_at(value.get_object(), "instance"),
                   std::nullopt,
                   {text_at(value.get_object(), "store"), text_at(value.get_object(), "lineage")}};
  if (const auto since = parse_rfc3339(text_at(value.get_object(), "history_since")))
    stamp.history_since = *since;
  stamp.feeds = text_at(value.get_object(), "stock") != "locked";
  return stamp;
}

}  // namespace plainwater::orders
