// The feed order of one bench, which a pump follows and a person reads. Its JSON form is described
// in config/schemas/order.json.
//
// An order never says "no water". A pump without a valid order gives plain water.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "common/instant.h"
#include "common/json_text.h"
#include "engine/engine.h"

namespace plainwater::orders {

/// A pump as an order describes it. A pump shared by several benches follows the most careful one.
struct OrderPump {
  std::string name;
  bool armed = false;  ///< false: advice only
  bool plain_water =
      true;  ///< one of its benches must have plain water, or the dose cannot be given
  int strength_percent = 0;  ///< the lowest that its benches may have, percent of full
  std::string limited_by{};  ///< the bench that makes the others on this pump get less; empty: none
  bool trusted =
      true;  ///< false: it disobeyed, and nobody has confirmed yet that it was looked after
  std::optional<feeding::Dose> dose{};  ///< none without a recipe

  bool operator==(const OrderPump&) const = default;
};

/// The content of an order, apart from when it was given.
struct OrderContent {
  std::string bench;
  feeding::Feeding feeding = feeding::Feeding::plain_water;
  int strength_percent = 0;  ///< percent of full, 0..100
  feeding::Cause cause = feeding::Cause::none;
  words::Sentence because;  ///< for a grower
  std::optional<feeding::HoldView> hold;
  std::optional<OrderPump> pump;  ///< none: the bench is fed by hand

  /// True when stock may flow: neither this bench nor another one on its pump must have plain
  /// water.
  bool stock_open() const;
  bool operator==(const OrderContent& other) const;
};

/// Orders are compared by epoch, then by sequence; a later one replaces an earlier one.
struct OrderNumber {
  /// From 0 to kMostEpoch. Rises when a store is restored from a backup, and to overrule an order
  /// with a sequence that is unreasonably far ahead.
  std::int64_t epoch = 0;
  std::int64_t sequence = 0;  ///< when it fell due, in seconds of engine time since 1970

  /// Its epoch lies in bounds.
  bool is_possible() const;
  auto operator<=>(const OrderNumber&) const = default;
};

/// The highest epoch. Neither service nor pump accepts an order with a higher one.
inline constexpr std::int64_t kMostEpoch = 1'000'000;
inline bool OrderNumber::is_possible() const { return epoch >= 0 && epoch <= kMostEpoch; }

/// Who gave an order: the store by its id, and by a lineage id that all copies of a store share
/// (such as a spare's). Random, 16 hexadecimal digits; empty: missing, as in orders of older
/// programs.
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
  StoreName store{};    ///< the store of that daemon
};

/// The fields of a hold, as in all our JSON.
JsonObject& add_hold(JsonObject& json, const feeding::HoldView& hold);

/// The bench's current order. `pumps` are the engine's.
OrderContent content_of(const engine::BenchNow& bench, const std::vector<engine::PumpNow>& pumps);
/// The same with the bench's own pump; null: the bench is fed by hand.
OrderContent content_by(const engine::BenchNow& bench, const engine::PumpNow* pump);

/// The value for the bench's strength topic, percent: 0 unless its pump is armed. None without a
/// pump.
std::optional<int> commanded_strength(const OrderContent& content);

/// True when `after` gives somebody less feed than `before`: then it must not wait.
bool takes_feed_away(const OrderContent& before, const OrderContent& after);

/// One JSON object, keys in the order of the schema.
/// `because` is for people: in the reader's language, for programs in none.
std::string to_json(const Order& order, const words::Reader& reader = {});

/// The stamp of an order read back from the broker; none when it is not one of ours.
struct OrderStamp {
  OrderNumber number;
  Instant valid_until{};
  std::string instance{};
  std::optional<Instant> history_since{};
  StoreName store{};
  bool feeds = true;  ///< it lets stock flow
};
std::optional<OrderStamp> read_stamp(std::string_view json);

}  // namespace plainwater::orders
