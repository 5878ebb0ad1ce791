// Inputs that the store refused while it took others: kept as they came, for a person to look at.
#pragma once

#include <cstdint>
#include <functional>
#include <string>

#include "common/instant.h"

namespace plainwater::store {

struct NotStored {
  std::int64_t id = 0;  ///< given by the store; counts up
  Instant now{};        ///< engine time at which it arrived
  std::string topic;
  std::string payload;             ///< as it came; a store keeps the first 64 KiB
  std::int64_t payload_bytes = 0;  ///< of the whole payload
  std::string why;
};

/// Called input by input; false ends the walk.
using NotStoredVisitor = std::function<bool(const NotStored& input)>;

}  // namespace plainwater::store
