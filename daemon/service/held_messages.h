// Messages that arrived while the store could not be written. The library has acknowledged them, so
// they are kept in memory until the store works again. Meanwhile the link is closed, so that the
// rest waits at the broker.
#pragma once

#include <cstddef>
#include <deque>
#include <string>

#include "broker/message.h"
#include "common/instant.h"

namespace plainwater::service {

class HeldMessages {
 public:
  static constexpr std::size_t kMostBytes = 64 * 1024 * 1024;

  struct Held {
    std::string topic, payload, response_topic, correlation;
    bool retained = false, duplicate = false, after_fence = false;
    int qos = 0;
    Instant now{};  ///< engine time of the arrival

    broker::Message message() const;
  };

  /// False when there is no room: the message is lost.
  bool hold(const broker::Message& message, Instant now);
  bool empty() const { return held_.empty(); }
  std::size_t size() const { return held_.size(); }
  const Held& front() const { return held_.front(); }
  void pop();

 private:
  std::deque<Held> held_;
  std::size_t bytes_ = 0;
};

}  // namespace plainwater::service
