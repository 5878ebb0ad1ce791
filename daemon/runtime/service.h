// The service as a process: sockets, timers, threads and signals around the core, which holds all
// that is decided. See service/core.h.
//
// Three threads bring events. The link's receive thread brings each message and the end of the
// backlog: a message is stored before the callback returns, since that is when the broker hears
// that we have it. The link's connection thread tells when it is connected or has lost the broker.
// The main thread brings all else, and wakes once a second. One lock guards the core, given in the
// order of asking: on a slow disk the main thread would never get it from a thread that takes it
// again at once. Nothing waits for the network while holding it. Pages are served by the main
// thread and made by one of their own: see pages.h.
#pragma once

#include <atomic>
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstdint>
#include <memory>
#include <mutex>
#include <optional>
#include <vector>

#include "broker/former_sessions.h"
#include "broker/mqtt_link.h"
#include "broker/mqtt_publisher.h"
#include "clock/clock.h"
#include "metrics/listener.h"
#include "runtime/line_writer.h"
#include "runtime/notify.h"
#include "runtime/pages.h"
#include "service/core.h"
#include "store/fair_lock.h"

namespace plainwater::runtime {

struct ServiceOptions {
  bool print_ledger = false;  ///< one line a decision on standard output
  service::CoreOptions core{};
};

class Service {
 public:
  /// Opens the store and reads the state back. Errors are those that no restart mends by itself.
  static Result<std::unique_ptr<Service>> open(std::shared_ptr<const Settings> settings,
                                               ServiceOptions options);
  ~Service();

  /// Until SIGTERM or SIGINT. False when the last state could not be stored.
  bool run();

 private:
  Service(std::shared_ptr<const Settings> settings, ServiceOptions options,
          std::unique_ptr<service::Core> core);

  /// Brings an event to the core and does what it wants. By any thread.
  void bring(const service::Event& event);
  /// Under the lock.
  service::Effects bring_locked(const service::Event& event);
  void perform(service::Effects& effects);
  void print(const std::vector<feeding::Decision>& decisions);

  // The main thread:
  void wake_in_a_second();
  void tick();
  void be_who_we_are();
  void open_or_close_link();
  void open_former();
  void open_link();
  void close_link();
  void open_publisher();
  broker::ConnectPlan plan(const char* suffix) const;
  std::vector<std::string> subscriptions();
  void stop_on_signals();
  bool stop();

  void on_acknowledged(std::uint64_t id);
  void bring_acknowledged();
  metrics::Figures figures();

  const std::shared_ptr<const Settings> settings_;
  const outlet::Topics topics_;
  const clock::SystemClock clock_{};
  Notify notify_;                     ///< main thread
  std::optional<LineWriter> ledger_;  ///< when it is to be printed

  store::FairLock mutex_;
  const std::unique_ptr<service::Core> core_;  ///< guarded by mutex_
  std::atomic<bool> listen_ = false;           ///< what the core wants
  store::ClientKeys keys_;                     ///< main thread: as our clients are called now

  std::mutex acknowledged_mutex_;
  std::vector<std::uint64_t> acknowledged_;  ///< guarded: the core has not heard of them

  std::mutex board_mutex_;
  std::optional<metrics::BoardFigures> board_figures_;  ///< guarded: of the last second

  boost::asio::io_context io_;
  boost::asio::steady_timer timer_{io_};
  boost::asio::signal_set signals_{io_};
  std::unique_ptr<Pages> pages_;  ///< none when the settings want none
  /// Published to from the link's threads too, under mutex_. The main thread alone changes these
  /// three: `publisher_` only while the other two are null, so that no thread of theirs can be in
  /// it, and they, like every client, never under mutex_, which their threads take.
  std::unique_ptr<broker::MqttPublisher> publisher_;
  std::unique_ptr<broker::FormerSessions> former_;  ///< while we listen, before the link
  std::unique_ptr<broker::MqttLink> link_;          ///< while we listen
  std::unique_ptr<metrics::Listener> metrics_;      ///< ended before all that it asks
};

}  // namespace plainwater::runtime
