// Sends reports to the broker at QoS 1, in order, with a limited number in flight.
#pragma once

#include <mqtt/async_client.h>

#include <deque>
#include <string>

#include "common/result.h"

namespace plainwater::sim {

class Publisher {
 public:
  /// `broker`: mqtt://host:port. `most_in_flight`: 1..1000 messages sent but not acknowledged.
  Publisher(const std::string& broker, const std::string& client_id, int most_in_flight);
  Status connect();
  /// Waits while too many are in flight. An error when the broker acknowledges nothing for 30 s.
  Status publish(const std::string& topic, const std::string& payload);
  /// Waits until all are acknowledged.
  Status finish();
  std::size_t acknowledged() const { return acknowledged_; }

 private:
  /// A report until the broker has acknowledged it, so that it can be sent again after a lost
  /// connection.
  struct Sent {
    mqtt::delivery_token_ptr token;
    std::string topic, payload;
  };

  Status settle(std::size_t leave);
  Status send_again(Sent& sent);
  std::string broker_;
  std::size_t most_in_flight_;
  mqtt::async_client client_;
  mqtt::connect_options connect_options_;
  std::deque<Sent> in_flight_;
  std::size_t acknowledged_ = 0;
};

}  // namespace plainwater::sim
