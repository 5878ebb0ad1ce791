// What arrived from the broker: a view, good while its handler runs.
#pragma once

#include <string>
#include <string_view>

namespace plainwater::broker {

struct Message {
  std::string_view topic;
  std::string_view payload;
  bool retained = false;
  bool duplicate = false;    ///< redelivered (DUP)
  bool after_fence = false;  ///< not from the backlog of this connection
  int qos = 0;
  std::string response_topic;  ///< MQTT 5; empty when none
  std::string correlation;     ///< MQTT 5, bytes; empty when none
};

}  // namespace plainwater::broker
