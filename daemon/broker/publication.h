// What is to go to the broker.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace plainwater::broker {

struct Publication {
  std::uint64_t id = 0;  ///< the owner's own, given back by `on_acknowledged`
  std::string topic;
  std::string payload;
  int qos = 1;  ///< 0 or 1
  bool retain = false;
  // The rest is MQTT 5 only and left out on 3.1.1.
  std::optional<std::uint32_t> expiry_s;
  std::string response_topic;  ///< where the reply to this message goes
  std::string correlation;     ///< bytes
  std::vector<std::pair<std::string, std::string>> user_properties;
};

}  // namespace plainwater::broker
