// The sending client, separate because a client that also receives publishes late.
//
// Nothing is kept when the connection is lost: the owner must publish again whatever was not
// acknowledged.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "broker/mqtt_events.h"
#include "broker/publication.h"

namespace plainwater::broker {

struct PublisherEvents : ConnectEvents {
  /// The broker has it (QoS 1), or it was written to the wire (QoS 0). On a library thread; must
  /// not throw or wait.
  std::function<void(std::uint64_t id)> on_acknowledged;
  /// The broker or the library refuses it; `reason` says why. Same thread rules. Optional.
  std::function<void(std::uint64_t id, const std::string& reason)> on_refused;
};

class MqttPublisher {
 public:
  static constexpr std::size_t kLongestQueue = 10'000;

  MqttPublisher(ConnectPlan plan, PublisherEvents events);
  /// Sends accepted messages, then disconnects, within 2 s. No event comes afterwards.
  ~MqttPublisher();
  MqttPublisher(const MqttPublisher&) = delete;
  MqttPublisher& operator=(const MqttPublisher&) = delete;

  void start();
  /// Queues the message and returns at once. Callable from any thread, also from MqttLink's events
  /// and under the caller's own locks. False when not connected or when `kLongestQueue` are
  /// waiting: then nothing was queued.
  bool publish(Publication publication);

  int protocol_version() const;  ///< 5, 3, or 0 when not connected
  /// The largest packet the broker takes on this connection, bytes; 0: no limit given.
  std::uint32_t largest_packet() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace plainwater::broker
