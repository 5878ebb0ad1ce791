// What the link and the publisher have in common: who to be at the broker, and what they tell.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "common/log_line.h"
#include "settings/settings.h"

namespace plainwater::broker {

/// What the broker publishes for us when we vanish.
struct Will {
  std::string topic;
  std::string payload;
  bool retained = true;
  std::optional<std::uint32_t> expiry_s;  ///< MQTT 5 only
};

struct ConnectPlan {
  Broker broker;
  std::string site;
  std::string
      client_suffix;  ///< the client id is <root>-<site>-<instance>-<suffix>; one suffix a client
  std::optional<Will> will;
};

struct ConnectEvents {
  /// Each change of the connection. `protocol_version` is 5, or 3 for 3.1.1, or 0 when not
  /// connected. From the connection's own thread; `connected` true comes once a publisher takes
  /// messages and a link has subscribed, false always before the next attempt.
  std::function<void(bool connected, int protocol_version)> on_state;
  /// A line for the log. Never holds a secret. From any thread.
  std::function<void(LogLevel, const std::string&)> on_log;
};

}  // namespace plainwater::broker
