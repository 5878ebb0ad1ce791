// A message to publish.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace plainwater::broker {

struct Publication {
  std::uint64_t id = 0;  ///< the owner's own number, passed back to `on_acknowledged`
  std::string topic;
  std::string payload;
  int qos = 1;  ///< 0 or 1
  bool retain = false;
  // The rest is MQTT 5 only and left out on 3.1.1.
  std::optional<std::uint32_t> expiry_s;
  std::string response_topic;  ///< where the reply should go
  std::string correlation;     ///< bytes
  std::vector<std::pair<std::string, std::string>> user_properties;

  /// Size of its packet, or slightly more.
  std::size_t packet_size() const {
    static constexpr std::size_t kFrame = 5 + 2 + 2 + 4;  // header, lengths, id, properties' length
    static constexpr std::size_t kExpiry = 5, kText = 3, kPair = 5;
    std::size_t size = kFrame + topic.size() + payload.size() + (expiry_s ? kExpiry : 0);
    if (!response_topic.empty()) size += kText + response_topic.size();
    if (!correlation.empty()) size += kText + correlation.size();
    for (const auto& [name, value] : user_properties) size += kPair + name.size() + value.size();
    return size;
  }
};

/// Maximum number of unacknowledged messages; the publisher holds back the others.
inline constexpr std::size_t kMostOnTheWire = 10;

}  // namespace plainwater::broker
