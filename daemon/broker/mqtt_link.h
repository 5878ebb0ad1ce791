// The receiving client: a persistent session, QoS 1, MQTT 5 or 3.1.1.
//
// At least once: the library acknowledges a message when `on_message` returns, so it must be safely
// stored before that. With a persistent session the broker's backlog comes right after the connect;
// the **fence** marks its end: after subscribing, the link publishes a message to itself, and
// everything before its echo is backlog.
//
// Connects and reconnects on a thread of its own: 1 s after a loss, doubling up to
// `longest_backoff_s`.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "broker/message.h"
#include "broker/mqtt_events.h"

namespace plainwater::broker {

struct LinkEvents : ConnectEvents {
  /// On the library's receive thread, one at a time. Must not throw (the process would end), and
  /// must not wait for another MQTT client of this process. May call MqttPublisher::publish.
  std::function<void(const Message&)> on_message;
  /// This connection's backlog has ended. On the receive thread, once per connection and once
  /// after each `subscribe`, after `on_state` (which the first messages of a backlog may precede).
  /// Fences are numbered in their order.
  std::function<void(std::uint64_t number)> on_fence;
};

class MqttLink {
 public:
  /// Sends nothing before `start`.
  MqttLink(ConnectPlan plan, std::vector<std::string> subscriptions, LinkEvents events);
  /// Disconnects within 2 s; the broker keeps the session. No event comes afterwards.
  ~MqttLink();
  MqttLink(const MqttLink&) = delete;
  MqttLink& operator=(const MqttLink&) = delete;

  void start();
  /// Changes the topic filters, on the connection that there is: those no longer named are
  /// unsubscribed, all others subscribed anew. So the broker hands over again what it retains for
  /// them, and a new fence follows.
  /// Returns the number of the first fence that counts for them.
  std::uint64_t subscribe(std::vector<std::string> subscriptions);

  int protocol_version() const;  ///< 5, 3, or 0 when not connected

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace plainwater::broker
