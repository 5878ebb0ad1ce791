// The outbox: orders and notices on their way out, written in the transaction of the decision that
// caused them.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "common/instant.h"

namespace plainwater::store {

struct Effect {
  std::int64_t id = 0;  ///< given by the store, never used twice
  std::string
      kind;  ///< "order", "notice" …: after a restart notices are sent, orders are derived anew
  std::string topic;
  std::string payload;
  int qos = 1;  ///< 0..2
  bool retain = false;
  std::optional<Instant> expires;  ///< not worth sending after it
  Instant created{};
};

/// Called effect by effect, with when the broker had it; false ends the walk.
using EffectVisitor =
    std::function<bool(const Effect& effect, std::optional<Instant> acknowledged)>;

}  // namespace plainwater::store
