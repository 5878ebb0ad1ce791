// The service as a process: sockets, timers, threads and signals around the core, which makes all
// decisions. See service/core.h.
//
// Three threads bring events. The link's receive thread brings each message and the end of the
// backlog: a message is stored before the callback returns, since the library then acknowledges it
// to the broker. The link's connection thread reports when the connection is made or lost. The main
// thread brings everything else, and wakes once a second. One lock guards the core and is given in
// the order of asking: otherwise, on a slow disk, the main thread might never get it from a thread
// that retakes it at once. Nothing waits for the network while holding it. Pages are served by the
// main thread and made on a thread of their own: see pages.h.
#pragma once

#include <atomic>
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstdint>
#include <map>
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
#include "settings/difference.h"
#include "store/fair_lock.h"

namespace plainwater::runtime {

struct ServiceOptions {
  std::string settings_file{};  ///< read again at a reload
  bool print_ledger = false;    ///< one line per decision on standard output
  service::CoreOptions core{};
};

class Service {
 public:
  /// Opens the store and restores the state. Only errors that a restart cannot cure.
  static Result<std::unique_ptr<Service>> open(std::shared_ptr<const Settings> settings,
                                               ServiceOptions options);
  ~Service();

  /// Runs until SIGTERM or SIGINT; SIGHUP reads the settings again. False when the last state could
  /// not be stored.
  bool run();

 private:
  Service(std::shared_ptr<const Settings> settings, ServiceOptions options,
          std::unique_ptr<service::Core> core);

  /// Passes an event to the core and performs the effects. From any thread.
  void handle(const service::Event& event);
  /// Under the lock.
  service::Effects handle_locked(const service::Event& event);
  void perform(service::Effects& effects);
  /// Somebody asks on a page. On the main thread.
  void ask(feeding::Request request, bool only_try, Pages::Answered done);
  void answer_asked(std::optional<service::AnsweredAsk> answered);
  void print(const std::vector<feeding::Decision>& decisions);

  // On the main thread:
  void wake_in_a_second();
  void tick();
  void take_client_keys();
  void open_or_close_link();
  void open_former();
  void open_link();
  void close_link();
  void open_publisher();
  void renew_clients();
  broker::ConnectPlan plan(const char* suffix) const;
  std::vector<std::string> subscriptions();
  void listen_to_signals();
  void reload_on_hangup();
  bool stop();

  // service_reload.cpp, on the main thread:
  void answer_reloads();
  /// Reads the settings again and puts them in force, or leaves all as it is and says why.
  feeding::Reply reload();
  Status put_in_force(const std::shared_ptr<const Settings>& settings,
                      const std::vector<Change>& changes);
  void renew_metrics(const std::vector<Change>& changes);

  void on_acknowledged(std::uint64_t id);
  void pass_acknowledged();
  metrics::Figures figures();
  std::shared_ptr<const status::Status> report();

  const std::string settings_file_;
  std::shared_ptr<const Settings> settings_;  ///< changed by the main thread only, under mutex_
  const outlet::Topics topics_;
  const clock::SystemClock clock_{};
  Notify notify_;                     ///< main thread
  std::optional<LineWriter> ledger_;  ///< when printing is on

  store::FairLock mutex_;
  std::unique_ptr<service::Core> core_;             ///< guarded by mutex_
  std::atomic<bool> listen_ = false;                ///< wanted by the core
  std::vector<service::ReloadAsked> reload_asked_;  ///< guarded by mutex_
  /// Who waits for an answer on a page, by ticket; main thread only.
  std::map<std::uint64_t, Pages::Answered> asking_;
  std::uint64_t last_ticket_ = 0;
  std::uint64_t least_fence_ = 0;  ///< guarded by mutex_: see MqttLink::subscribe
  store::ClientKeys keys_;         ///< main thread only: the present keys of our client ids

  std::mutex acknowledged_mutex_;
  std::vector<std::uint64_t> acknowledged_;  ///< guarded: not yet passed to the core

  std::mutex board_mutex_;
  std::optional<metrics::BoardFigures> board_figures_;  ///< guarded: from the last second

  boost::asio::io_context io_;
  boost::asio::steady_timer timer_{io_};
  boost::asio::signal_set signals_{io_}, hangup_{io_};
  std::unique_ptr<Pages> pages_;  ///< null when the settings disable the pages
  /// The link's threads also publish through it, under mutex_. Only the main thread changes these
  /// three: `publisher_` only while the other two are null, so that none of their threads can be
  /// using it; and none of them ever under mutex_, which their threads take.
  std::unique_ptr<broker::MqttPublisher> publisher_;
  std::unique_ptr<broker::FormerSessions> former_;  ///< while we listen, before the link
  std::unique_ptr<broker::MqttLink> link_;          ///< while we listen
  std::unique_ptr<metrics::Listener> metrics_;      ///< ended before everything that it reads
};

}  // namespace plainwater::runtime
