// The service: wires broker, clock, engine, store and outlet together, and holds no rule of its
// own.
//
// Two threads matter. The link's receive thread takes each message: decoded, journaled, folded,
// recorded, all before the callback returns, since that is when the broker hears that we have it.
// The main thread wakes once a second for all that depends on time. One mutex guards everything
// below it, given in the order of asking: on a slow disk the main thread would never get it from a
// thread that takes it again at once. Nothing waits for the network while holding it. Pages are
// served by the main thread and made by one of their own: see service_board.h.
#pragma once

#include <atomic>
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <set>
#include <string>
#include <variant>
#include <vector>

#include "intake/arrival.h"
#include "intake/catalogue.h"
#include "intake/clock.h"
#include "intake/engine_clock.h"
#include "intake/mqtt_link.h"
#include "intake/mqtt_publisher.h"
#include "intake/refusals.h"
#include "notices/desk.h"
#include "notices/lasting.h"
#include "outlet/local_time.h"
#include "outlet/service_state.h"
#include "outlet/topics.h"
#include "service_board.h"
#include "service_hold.h"
#include "service_keeper.h"
#include "service_metrics.h"
#include "service_notify.h"
#include "store/fair_lock.h"

namespace plainwater {

struct ServiceOptions {
  bool print_ledger = false;  ///< one line a decision on standard output
  bool stand_in_pumps =
      false;  ///< no pump is real: they may be armed while the time comes from the readings
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
          std::unique_ptr<Keeper> keeper, outlet::LocalTime local);

  // service.cpp: the main thread.
  void wake_in_a_second();
  void tick();
  void keep_time();
  void keep_store();
  void try_to_recover();
  void open_or_close_link();
  void open_publisher();
  bool stop();
  Instant engine_now(const intake::ClockSample& sample);
  bool by_readings() const { return settings_->clock.time == ClockMode::readings; }
  /// True once in each `interval` of the boot clock.
  bool every(Span interval, Span& last) const;
  void note_state();
  /// After work that began with `sample_`: remembers when it took long.
  void note_speed();
  bool slow() const { return sample_.since_boot - last_slow_ <= kSlowTold; }
  /// Strikes off what was acknowledged while the store could not be written, and sends what never
  /// went out.
  void settle_outbox();

  // service_intake.cpp: the link's receive thread, and held messages on the main thread.
  void on_message(const intake::Message& message) noexcept;
  void on_fence() noexcept;
  void on_link_state(bool connected);
  /// False when the store failed: the message has to be held.
  bool take(const intake::Message& message, Instant now);
  bool take_readings(const intake::Message& message, Instant now);
  bool take_doses(const intake::Message& message, std::string_view bench, Instant now);
  /// The keeper's work, with the time that it takes counted.
  template <class Work>
  auto timed(Work&& work);
  /// Journals and folds what a message told; false when the store failed.
  template <class Item>
  bool store_each(const std::vector<Item>& items, const intake::Message& message, Instant now);
  bool take_request(const intake::Message& message, Instant now);
  /// Past the fence after the broker was away for long.
  void tell_of_gap();
  void note_order(std::string_view bench, const intake::Message& message);
  std::vector<Reading> decode(const intake::Message& message, Instant now);
  std::vector<feeding::DoseReport> decode_reports(const intake::Message& message,
                                                  const std::vector<const PumpReport*>& mappings,
                                                  Instant now);
  /// A pump's own time, none where its clock is plainly wrong: what it tells counts as of now.
  std::optional<Instant> pump_time(std::optional<Instant> told, const intake::Message& message,
                                   Instant now);
  bool refuse_dose(const intake::Message& message, const std::string& problem,
                   const std::string& text);
  /// The time to use of what has an `own` time or not; none when it is refused, which is counted.
  std::optional<Instant> time_of(std::optional<Instant> own, Span from_arrival,
                                 const intake::Message& message, Instant now);
  void refuse(intake::Refusal reason, std::string_view topic);
  feeding::Reply obey(const feeding::Request& request, Instant now, bool& stored);
  void reply(const intake::Message& message, std::string_view id, const feeding::Reply& reply);
  void give_orders_if_allowed();

  // service_wire.cpp: what goes out.
  void send(Result<Keeper::Written> written);
  void send_notice(const Keeper::OutgoingNotice& notice);
  /// What concerns the service itself is told past the store, which may be what is wrong.
  void tell_of_house();
  notices::HouseNow house() const;
  notices::When house_time() const;
  void send_order(std::int64_t outbox_id, const outlet::Order& order);
  void send_strength(const outlet::Order& order);
  /// Climate and position of each bench, where there is something new.
  void send_climate();
  void send_news(const std::string& topic, const engine::BenchNow& bench,
                 std::string (*form)(const engine::BenchNow&, Instant), Instant fixed);
  std::string store_words() const;
  outlet::ServiceState state() const;
  void send_service_state();
  /// For the pages: takes the lock.
  board::Moment moment();
  /// For a metrics server (service_metrics.cpp): takes the lock. By any thread, also before `run`.
  metrics::Figures figures();
  void repeat_orders();
  void on_publisher_state(bool connected, int version);
  void on_acknowledged(std::uint64_t id);
  bool publish(std::string topic, std::string payload, bool retain,
               std::optional<std::uint32_t> expiry_s, std::uint64_t id = 0);
  void print(const std::vector<feeding::Decision>& decisions) const;

  const std::shared_ptr<const Settings> settings_;
  const ServiceOptions options_;
  const outlet::Topics topics_;
  const intake::Catalogue catalogue_;
  const outlet::LocalTime local_;
  intake::SystemClock clock_;
  intake::Refusals refusals_;
  Notify notify_;

  store::FairLock mutex_;
  // Guarded by mutex_:
  std::unique_ptr<Keeper> keeper_;
  intake::EngineClock engine_clock_;
  intake::ClockSample sample_;  ///< of this wake-up or message
  HeldMessages held_;
  bool past_fence_ = false;
  notices::Desk house_desk_;         ///< counts by the boot clock
  Instant broker_lost_{kNever};      ///< engine time; while it is away
  Span fence_wait_since_{kLongAgo};  ///< boot clock; when the wait for the broker's backlog began
  std::uint64_t readings_ = 0;
  std::uint64_t lost_ = 0;  ///< acknowledged, not stored, no room to hold
  std::uint64_t replies_not_sent_ = 0;
  std::map<std::string, std::uint64_t> refused_requests_;  ///< by problem
  std::map<std::string, std::uint64_t> refused_doses_;     ///< by problem
  MetricCounts counts_;
  std::map<std::string, outlet::OrderNumber> told_outdated_;
  std::map<std::string, std::string> last_news_;  ///< by topic: what was said last
  std::set<std::int64_t> on_the_way_;             ///< outbox ids not acknowledged yet
  std::set<std::int64_t> to_strike_off_;  ///< acknowledged while the store could not be written
  std::string told_trouble_;              ///< the failure that is in the log already
  Span last_slow_{kLongAgo};              ///< boot clock; when the disk was seen to be slow
  Span slowest_{0};                       ///< since then
  Instant started_{kNever};
  std::string last_state_;
  Instant last_told_time_{from_ms(0)};  ///< engine time of the last heartbeat
  std::uint64_t told_refused_ = 0;
  bool told_plausible_ =
      true;  ///< false once the log has told that the wall clock cannot be believed at all

  // Main thread only:
  Span last_heartbeat_{kLongAgo}, last_strength_{kLongAgo}, last_climate_at_{kLongAgo},
      last_recovery_{kLongAgo}, last_snapshot_{kLongAgo}, last_retention_{kLongAgo};
  boost::asio::io_context io_;
  boost::asio::steady_timer timer_{io_};
  boost::asio::signal_set signals_{io_};
  std::unique_ptr<intake::MqttLink> link_;  ///< while we listen
  std::unique_ptr<ServiceBoard> board_;     ///< none when the settings want no pages

  /// Published to from any thread; made before the link and ended after it.
  std::unique_ptr<intake::MqttPublisher> publisher_;
  std::atomic<bool> publishing_ = false;  ///< connected
  std::unique_ptr<metrics::Listener>
      metrics_;  ///< none when the settings want no metrics; ended before all that it asks

  static constexpr Span kLongAgo{hours(-24 * 365)};
  static constexpr Span kSlowTold = minutes(2);  ///< how long a slow write is told of
};

}  // namespace plainwater
