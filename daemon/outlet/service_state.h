// What a daemon says of itself on `service/<instance>`; described in config/schemas/service.json.
#pragma once

#include <cstdint>
#include <map>
#include <string>

#include "common/instant.h"

namespace plainwater::outlet {

/// A heartbeat goes out every minute; the message expires after three missed ones.
inline constexpr seconds kHeartbeat{60};
inline constexpr seconds kServiceExpiry = 3 * kHeartbeat;

struct ServiceState {
  std::string instance;
  std::string version;
  Instant engine_time{kNever};
  Instant started{kNever};        ///< engine time at the start of this process
  std::string store = "healthy";  ///< or what is wrong with it, one sentence
  std::string clock = "settled";  ///< "settled", "unsettled" or "readings"
  bool backlog = true;            ///< the broker's backlog is still being drained: no orders yet
  std::uint64_t readings = 0;     ///< accepted since the start
  std::map<std::string, std::uint64_t>
      refused;  ///< messages and readings not used since the start, by reason
  int rules_revision = 0;
};

std::string online_json(const ServiceState& state);
/// The will, and what an orderly stop leaves behind.
std::string offline_json(const std::string& instance, const std::string& version);

}  // namespace plainwater::outlet
