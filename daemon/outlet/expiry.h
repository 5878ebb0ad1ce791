// How long the broker may keep a message.
#pragma once

#include <algorithm>
#include <cstdint>

#include "common/instant.h"

namespace plainwater::outlet {

/// A strength is good for as long as a simple pump may follow it; see deploy/pump-contract.md.
inline constexpr seconds kStrengthExpiry{900};

/// MQTT's message expiry interval, s: at least one, so that what is late still reaches those who
/// listen now.
inline std::uint32_t seconds_left(Instant until, Instant now) {
  return static_cast<std::uint32_t>(
      std::clamp<std::int64_t>(to_seconds(until) - to_seconds(now), 1, 0xffff'fffe));
}

}  // namespace plainwater::outlet
