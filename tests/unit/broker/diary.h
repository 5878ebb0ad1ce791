// Shared by the tests of link and publisher: plans, and a diary of all events.
#pragma once

#include <mutex>
#include <string>
#include <vector>

#include "broker/mqtt_link.h"
#include "broker/mqtt_publisher.h"
#include "test_broker.h"

namespace plainwater::broker {

/// A plan for the broker at `url`, with retries after 1 s.
ConnectPlan plan(const std::string& url, std::string suffix);

/// The events as lines: "message air/mist 21.4 retained", "fence", "state 5", "log 3 …",
/// "acknowledged 7".
class Diary {
 public:
  void note(std::string line);
  std::vector<std::string> lines() const;
  std::string all() const;
  /// True when a line contains `part`.
  bool has(const std::string& part) const;
  /// Lines that begin with `start`, without it.
  std::vector<std::string> of(const std::string& start) const;

 private:
  mutable std::mutex mutex_;
  std::vector<std::string> lines_;
};

LinkEvents link_events(Diary& diary);
PublisherEvents publisher_events(Diary& diary);

Publication text(std::uint64_t id, std::string topic, std::string payload, bool retain = false);
/// Publishes at least one message, and waits for the acknowledgements.
void send(const TestBroker& broker, std::vector<Publication> publications);

}  // namespace plainwater::broker
