// The stand-in's MQTT client. Messages and connections are noted on the library's thread and
// handled on ours: all calls below belong to one thread.
#pragma once

#include <mqtt/async_client.h>

#include <condition_variable>
#include <deque>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "common/instant.h"
#include "common/result.h"

namespace plainwater::pump {

struct Incoming {
  std::string topic, payload;
  bool retained = false;
  std::optional<Span> expiry;  ///< MQTT 5: left when it came
};

class Wire {
 public:
  /// Subscriptions at QoS 1. `keep_newest`: of the reports waiting on a topic only the newest is
  /// kept (counters).
  Wire(const std::string& broker, bool mqtt_5, const std::string& client_id,
       std::vector<std::string> filters, bool keep_newest);

  /// An error when the broker cannot be reached. Later losses mend themselves.
  Status connect();
  /// Subscribes after each connect. True when it has done so just now; an error when the broker
  /// refuses.
  Result<bool> tend();
  /// What came, in order; waits at most `limit` for something.
  std::vector<Incoming> wait(Span limit);
  /// Sends at QoS 1, not retained; kept until the broker has acknowledged it, over lost connections
  /// as well.
  void report(std::string topic, std::string payload);
  /// Reports the broker has not acknowledged.
  std::size_t waiting() const { return reports_.size(); }
  /// Moves the reports on; called often.
  void flush();
  void disconnect();

 private:
  struct Report {
    std::string topic, payload;
    mqtt::delivery_token_ptr token;  ///< null: not on its way
  };

  const std::string broker_;
  const bool mqtt_5_;
  const std::vector<std::string> filters_;
  const bool keep_newest_;
  std::deque<Report> reports_;
  std::uint64_t subscribed_ = 0;  ///< connection that the subscriptions were made on

  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<Incoming> inbox_;    ///< guarded
  std::uint64_t connections_ = 0;  ///< guarded

  mqtt::async_client client_;  ///< last: its thread uses all of the above
};

}  // namespace plainwater::pump
