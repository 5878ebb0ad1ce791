// The feed order of one bench: what a pump follows and a person reads. Its JSON form is described
// in config/schemas/order.json.
//
// An order never says "no water". Whoever holds no valid order gives plain water.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "common/instant.h"
#include "common/json_text.h"
#include "engine/engine.h"

namespace plainwater::orders {

/// A pump as an order needs it. A pump shared by several benches follows the most careful of them.
struct OrderPump {
  std::string name;
  bool armed = false;  ///< false: advice only
  bool plain_water =
      true;  ///< one of its benches must have plain water, or the dose cannot be given
  int strength_percent = 0;  ///< what all of its benches may have, percent of full
  std::string limited_by{};  ///< the bench by which others on it get less; empty: none does
  bool trusted = true;  ///< false: it disobeyed, and nobody has said yet that it was looked after
  std::optional<feeding::Dose> dose{};  ///< none without a recipe

  bool operator==(const OrderPump&) const = default;
};

/// What an order says, apart from when it was given.
struct OrderContent {
  std::string bench;
  feeding::Feeding feeding = feeding::Feeding::plain_water;
  int strength_percent = 0;  ///< percent of full, 0..100
  feeding::Cause cause = feeding::Cause::none;
  std::string because;  ///< one sentence for a grower
  std::optional<feeding::HoldView> hold;
  std::optional<OrderPump> pump;  ///< none: the bench is fed by hand

  /// Feed stock may flow: neither this bench nor another one on its pump must have plain water.
  bool stock_open() const;
  bool operator==(const OrderContent& other) const;
};

/// Orders are compared by epoch, then sequence; a later one replaces an earlier one.
struct OrderNumber {
  /// From 0 to kMostEpoch. Rises when a store is restored from a backup, and to overrule an order
  /// whose sequence no time would reach soon.
  std::int64_t epoch = 0;
  std::int64_t sequence = 0;  ///< when it fell due, seconds of engine time since 1970

  auto operator<=>(const OrderNumber&) const = default;
};

/// No epoch is higher: neither service nor pump takes an order that says so.
inline constexpr std::int64_t kMostEpoch = 1'000'000;

/// Who gives an order: a store by its id, and all stores that were copied from one by their lineage
/// (a spare's). Random, 16 hexadecimal digits; empty: not told, as by older programs.
struct StoreName {
  std::string id, lineage;

  bool operator==(const StoreName&) const = default;
};

struct Order {
  OrderContent content;
  Instant issued{};
  Instant valid_until{};
  OrderNumber number;
  std::string instance;  ///< the daemon that gave it
  std::optional<Instant>
      history_since{};  ///< when that daemon's store began; a younger one knows less
  StoreName store{};    ///< that daemon's
};

/// The fields of a hold, as all JSON tells them.
JsonObject& add_hold(JsonObject& json, const feeding::HoldView& hold);

/// What the bench is to be given now. `pumps` are the engine's.
OrderContent content_of(const engine::BenchNow& bench, const std::vector<engine::PumpNow>& pumps);
/// The same with the bench's own pump; null: it is fed by hand.
OrderContent content_by(const engine::BenchNow& bench, const engine::PumpNow* pump);

/// What the strength topic of a bench says, percent: 0 unless its pump is armed. None without a
/// pump.
std::optional<int> commanded_strength(const OrderContent& content);

/// Somebody gets less feed by `after` than by `before`: it must not wait.
bool takes_feed_away(const OrderContent& before, const OrderContent& after);

/// One JSON object, keys in the order of the schema.
std::string to_json(const Order& order);

/// What an order as read back from the broker says of itself; none when it is not one of ours.
struct OrderStamp {
  OrderNumber number;
  Instant valid_until{};
  std::string instance{};
  std::optional<Instant> history_since{};
  StoreName store{};
  bool feeds = true;  ///< stock may flow by it
};
std::optional<OrderStamp> read_stamp(std::string_view json);

}  // namespace plainwater::orders
