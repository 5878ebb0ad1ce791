// Shared by link and publisher: the client's identity, and its events.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "common/log_line.h"
#include "settings/settings.h"

namespace plainwater::broker {

/// The last will: what the broker publishes for us when we vanish.
struct Will {
  std::string topic;
  std::string payload;
  bool retained = true;
  std::optional<std::uint32_t> expiry_s;  ///< MQTT 5 only
};

/// The client id is <root>-<site>-<instance>-<key>-<suffix>. Whoever connects with the same id gets
/// our session and its messages, so the key cannot be guessed and is never shown.
struct ConnectPlan {
  Broker broker;
  std::string site;
  std::uint64_t client_key = 0;  ///< 0: without this part, as ids were before there were keys
  std::string client_suffix;     ///< one for each client
  std::optional<Will> will;
};
std::string client_id(const ConnectPlan& plan);
/// The id without the key, to show to people.
std::string shown_client_id(const ConnectPlan& plan);

struct ConnectState {
  bool connected = false;
  int protocol_version = 0;          ///< 5, or 3 for 3.1.1, or 0 when not connected
  std::uint32_t largest_packet = 0;  ///< the broker's limit, bytes; 0: none given
  bool taken_over =
      false;  ///< lost because another client connected with our id (only known on MQTT 5)
};

struct ConnectEvents {
  /// Each change of the connection, on the connection's own thread. `connected` true comes once a
  /// publisher accepts messages or a link has subscribed; false always comes before the next
  /// attempt.
  std::function<void(const ConnectState&)> on_state;
  /// A line for the log, from any thread. Never holds a secret.
  std::function<void(LogLevel, const std::string&)> on_log;
};

}  // namespace plainwater::broker
