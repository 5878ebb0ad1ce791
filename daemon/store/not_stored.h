// Inputs that the store refused while it accepted others, kept unchanged for a person to look at.
#pragma once

#include <cstdint>
#include <functional>
#include <string>

#include "common/instant.h"

namespace plainwater::store {

struct NotStored {
  std::int64_t id = 0;  ///< given by the store; increasing
  Instant now{};        ///< engine time at which it arrived
  std::string topic;
  std::string payload;             ///< as it arrived; the store keeps the first 64 KiB
  std::int64_t payload_bytes = 0;  ///< of the whole payload
  std::string why;
};

/// Called for each input; false ends the walk.
using NotStoredVisitor = std::function<bool(const NotStored& input)>;

}  // namespace plainwater::store
