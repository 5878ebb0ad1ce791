// A message from the broker: a view, valid while its handler runs.
#pragma once

#include <string>
#include <string_view>

namespace plainwater::broker {

struct Message {
  std::string_view topic;
  std::string_view payload;
  bool retained = false;
  bool duplicate = false;    ///< redelivered (DUP)
  bool after_fence = false;  ///< not part of this connection's backlog
  int qos = 0;
  std::string response_topic;  ///< MQTT 5; may be empty
  std::string correlation;     ///< MQTT 5, bytes; may be empty
};

}  // namespace plainwater::broker
