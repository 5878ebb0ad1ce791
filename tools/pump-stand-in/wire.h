// The stand-in's MQTT client. Messages and connections are queued on the library's thread and
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
  std::optional<Span> expiry;  ///< MQTT 5: remaining on arrival
};

class Wire {
 public:
  /// Subscriptions at QoS 1. `keep_newest`: of the reports waiting for a topic only the newest is
  /// kept (counters).
  Wire(const std::string& broker, bool mqtt_5, const std::string& client_id,
       std::vector<std::string> filters, bool keep_newest);

  /// An error when the broker cannot be reached. Later losses are retried automatically.
  Status connect();
  /// Subscribes after each connect. True when it has just done so; an error when the broker
  /// refuses.
  Result<bool> tend();
  /// Messages that arrived, in order; waits at most `limit` for the first.
  std::vector<Incoming> wait(Span limit);
  /// Sends at QoS 1, not retained; kept until the broker has acknowledged it, even if the
  /// connection is lost.
  void report(std::string topic, std::string payload);
  /// Number of unacknowledged reports.
  std::size_t waiting() const { return reports_.size(); }
  /// Sends queued reports; call it often.
  void flush();
  void disconnect();

 private:
  struct Report {
    std::string topic, payload;
    mqtt::delivery_token_ptr token;  ///< null: not in flight
  };

  const std::string broker_;
  const bool mqtt_5_;
  const std::vector<std::string> filters_;
  const bool keep_newest_;
  std::deque<Report> reports_;
  std::uint64_t subscribed_ = 0;  ///< the connection on which subscriptions were made

  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<Incoming> inbox_;    ///< guarded
  std::uint64_t connections_ = 0;  ///< guarded

  mqtt::async_client client_;  ///< last: its thread uses all of the above
};

}  // namespace plainwater::pump
