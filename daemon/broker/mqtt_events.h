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

/// The client id is <root>-<site>-<instance>-<key>-<suffix>. Whoever connects by the same id gets
/// our session, and with it what we would have been handed: so the key cannot be guessed, and is
/// shown nowhere.
struct ConnectPlan {
  Broker broker;
  std::string site;
  std::uint64_t client_key =
      0;                      ///< 0: without that part, as clients were called before there was one
  std::string client_suffix;  ///< one a client
  std::optional<Will> will;
};
std::string client_id(const ConnectPlan& plan);
/// The same for people, without the key.
std::string shown_client_id(const ConnectPlan& plan);

struct ConnectState {
  bool connected = false;
  int protocol_version = 0;          ///< 5, or 3 for 3.1.1, or 0 when not connected
  std::uint32_t largest_packet = 0;  ///< the broker takes nothing larger, bytes; 0: it did not say
  bool taken_over = false;           ///< lost because another client came by our id (MQTT 5 tells)
};

struct ConnectEvents {
  /// Each change of the connection. From the connection's own thread; `connected` true comes once a
  /// publisher takes messages and a link has subscribed, false always before the next attempt.
  std::function<void(const ConnectState&)> on_state;
  /// A line for the log. Never holds a secret. From any thread.
  std::function<void(LogLevel, const std::string&)> on_log;
};

}  // namespace plainwater::broker
