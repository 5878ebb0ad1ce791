// The outbox: orders and notices waiting to be sent, written in the transaction of the decision
// that caused them.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "common/instant.h"

namespace plainwater::store {

struct Effect {
  std::int64_t id = 0;  ///< given by the store, never reused
  std::string kind;  ///< "order", "notice" …: after a restart notices are sent, orders derived anew
  std::string topic;
  std::string payload;
  int qos = 1;  ///< 0..2
  bool retain = false;
  std::optional<Instant> expires;  ///< not worth sending afterwards
  Instant created{};
};

/// Called for each effect, with the time of its acknowledgement; false ends the walk.
using EffectVisitor =
    std::function<bool(const Effect& effect, std::optional<Instant> acknowledged)>;

}  // namespace plainwater::store
