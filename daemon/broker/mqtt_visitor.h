// A client that only listens, for commands: the broker forgets it when it ends. It publishes
// nothing, not even a fence, so that a user who may only read is enough; and takes messages at QoS
// 0, so that a broker holds none back for it.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "broker/message.h"
#include "broker/mqtt_events.h"

namespace plainwater::broker {

struct VisitorEvents : ConnectEvents {
  /// On the library's receive thread, one at a time. Must not throw. There is no backlog: all but
  /// retained messages are `after_fence`.
  std::function<void(const Message&)> on_message;
  /// The broker does not allow this topic filter. On the connection's thread.
  std::function<void(const std::string& filter)> on_refused;
};

class MqttVisitor {
 public:
  /// Sends nothing before `start`.
  MqttVisitor(ConnectPlan plan, std::vector<std::string> filters, VisitorEvents events);
  /// Disconnects within 2 s. No event comes afterwards.
  ~MqttVisitor();
  MqttVisitor(const MqttVisitor&) = delete;
  MqttVisitor& operator=(const MqttVisitor&) = delete;

  void start();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace plainwater::broker
