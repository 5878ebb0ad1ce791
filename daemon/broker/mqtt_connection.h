// Keeps one MQTT client connected, on its own thread. Internal to this room, since it uses the
// library's types.
#pragma once

#include <mqtt/async_client.h>

#include <atomic>
#include <condition_variable>
#include <mutex>
#include <optional>
#include <string>
#include <thread>

#include "broker/mqtt_events.h"
#include "common/instant.h"

namespace plainwater::broker {

/// What a client does with its connection. All handlers but `equip` run on the connection's thread.
class ConnectionDuty {
 public:
  virtual ~ConnectionDuty() = default;
  /// Called once per client, before its first connect: a message handler must be there when the
  /// backlog arrives.
  virtual void equip(mqtt::async_client& client) = 0;
  /// After each connect. False drops the connection.
  virtual bool begin(mqtt::async_client& client) = 0;
  /// While connected: at once after `begin`, after each `wake`, and after the span it last
  /// returned.
  virtual Span work(mqtt::async_client& client) = 0;
  /// The connection is lost.
  virtual void end() = 0;
};

class Connection : private mqtt::iaction_listener {
 public:
  /// With `session_expiry_s` 0 each connect starts a clean session; otherwise the broker keeps the
  /// session that long.
  Connection(ConnectPlan plan, const ConnectEvents& events, int session_expiry_s,
             ConnectionDuty& duty);
  ~Connection() override;

  void start();
  /// Disconnects and joins the thread; within 2 s.
  void stop();
  void wake();
  int protocol_version() const { return protocol_version_; }
  /// For this connection, in bytes; 0: unknown (no limit given, or not MQTT 5).
  std::uint32_t largest_packet() const { return largest_packet_; }
  void log(LogLevel level, const std::string& text) const;

  /// Runs one library call to its end, on the connection's thread only: `call(context, listener)`
  /// starts it and returns its token. Empty when it succeeded, otherwise the reason. Returns early
  /// when the connection is lost or we are stopping.
  template <class Call>
  std::optional<mqtt::exception> complete(Span limit, Call call) {
    try {
      const mqtt::token_ptr token = call(expect(), static_cast<mqtt::iaction_listener&>(*this));
      if (!await(limit)) return mqtt::exception(MQTTASYNC_FAILURE, "no answer in time");
      token->try_wait();  // throws what went wrong
      return std::nullopt;
    } catch (const mqtt::exception& failure) { return failure; }
  }

 private:
  using Lock = std::unique_lock<std::mutex>;

  void run();
  bool connect();
  std::optional<mqtt::exception> attempt(int version);
  mqtt::async_client& client(int version);
  mqtt::connect_options options(int version, const std::string& password);
  void keep(Lock& lock, bool& began);
  void disconnect();
  void lose(const std::string& why);
  void report(const std::string& failure);
  bool fail(const Error& error);

  void* expect();
  bool await(Span limit);
  void settle(const mqtt::token& token);
  void on_success(const mqtt::token& token) override { settle(token); }
  void on_failure(const mqtt::token& token) override { settle(token); }

  const ConnectPlan plan_;
  const ConnectEvents events_;
  const int session_expiry_s_;
  ConnectionDuty& duty_;
  std::string last_failure_;

  std::mutex mutex_;  ///< guards the flags below; never held during a library call or an event
  std::condition_variable changed_;
  bool stopping_ = false, lost_ = false, woken_ = false, answered_ = false;
  std::atomic<bool> taken_over_ = false;  ///< the connection was lost to a client with our id
  std::uintptr_t expected_ = 0;           ///< number of the call that `await` is waiting for
  std::string why_lost_;

  std::atomic<int> protocol_version_ = 0;
  std::atomic<std::uint32_t> largest_packet_ = 0;
  std::unique_ptr<mqtt::async_client> client_5_,
      client_3_;  ///< made when first needed, kept until the end
  mqtt::async_client* current_ = nullptr;
  std::thread thread_;
};

}  // namespace plainwater::broker
