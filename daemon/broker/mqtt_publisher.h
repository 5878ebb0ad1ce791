// The publishing side at the broker: a client of its own, since one that also receives publishes
// late.
//
// Nothing is kept over a lost connection: what was not acknowledged by then has to be published
// again by its owner.
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
  /// The broker, or the library, will not have it; `reason` says why. Same thread rules. May be
  /// left out.
  std::function<void(std::uint64_t id, const std::string& reason)> on_refused;
};

class MqttPublisher {
 public:
  static constexpr std::size_t kLongestQueue = 10'000;

  MqttPublisher(ConnectPlan plan, PublisherEvents events);
  /// Sends what was accepted, then disconnects, within 2 s. No event comes afterwards.
  ~MqttPublisher();
  MqttPublisher(const MqttPublisher&) = delete;
  MqttPublisher& operator=(const MqttPublisher&) = delete;

  void start();
  /// Hands over and returns at once, from any thread, also from MqttLink's events and under the
  /// caller's own locks. False when not connected or with `kLongestQueue` waiting: then nothing was
  /// taken.
  bool publish(Publication publication);

  int protocol_version() const;  ///< 5, 3, or 0 when not connected
  /// The broker of this connection takes no larger packet, bytes; 0: it did not say.
  std::uint32_t largest_packet() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace plainwater::broker
