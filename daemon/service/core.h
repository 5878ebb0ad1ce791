// The service as a plain object: takes an event and the clocks at that moment, and returns what is
// to be done. No socket, timer, thread or logger; the store is its only file.
//
//   auto core = Core::open(settings, {}, clock.read());
//   auto effects = (*core)->start(clock.read());
//   effects = (*core)->handle(Tick{}, clock.read());
//
// Not thread-safe: the caller holds one lock around it. Once `handle` has taken a message, it is
// stored, or held in memory while the store fails; then it may be acknowledged to the broker.
#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "clock/clock.h"
#include "clock/engine_clock.h"
#include "common/clock_trust.h"
#include "outlet/local_time.h"
#include "service/announcer.h"
#include "service/answered_asks.h"
#include "service/broker_session.h"
#include "service/effects.h"
#include "service/event.h"
#include "service/health.h"
#include "service/held_messages.h"
#include "service/others.h"
#include "service/outbox.h"
#include "service/recorder.h"
#include "service/router.h"
#include "service/spacing.h"
#include "service/stray_orders.h"
#include "service/upkeep.h"
#include "settings/settings.h"
#include "status/status.h"
#include "store/client_keys.h"
#include "store/store.h"

namespace plainwater::service {

struct CoreOptions {
  bool stand_in_pumps = false;  ///< no pump is real: may be armed while time comes from readings
  std::string run{};  ///< random name of this process, to tell apart two services of one name
};

class Core {
 public:
  /// Opens the store and reads the state back. Errors are those that a restart alone does not mend.
  static Result<std::unique_ptr<Core>> open(const std::shared_ptr<const Settings>& settings,
                                            const CoreOptions& options,
                                            const clock::ClockSample& now);

  /// Call before the first event: puts the settings in force. Error: they cannot be stored.
  Result<Effects> start(const clock::ClockSample& now);
  /// Puts other settings in force, as a stop and a start would, but keeps the connections: what is
  /// on its way, what was counted, who else is at the broker. All or nothing: after an Error `core`
  /// is as before. The runtime must then subscribe anew, since nothing is ordered before what the
  /// broker retains has come again.
  static Result<Effects> reload(std::unique_ptr<Core>& core,
                                const std::shared_ptr<const Settings>& settings,
                                const clock::ClockSample& now);
  Effects handle(const Event& event, const clock::ClockSample& now);

  /// Topic filters to listen to.
  std::vector<std::string> subscriptions() const { return router_.subscriptions(); }
  /// As of the last event.
  std::shared_ptr<const status::Status> report() const;
  /// The keys in our clients' ids; they change with `SessionTaken` and `FormerSessionEnded`.
  const store::ClientKeys& client_keys() const { return keys_; }

 private:
  Core(const std::shared_ptr<const Settings>& settings, const CoreOptions& options,
       outlet::LocalTime local, std::unique_ptr<store::Store> store,
       std::unique_ptr<Recorder> recorder, store::ClientKeys keys, clock::EngineClock engine_clock,
       const clock::ClockSample& now);
  /// Takes over from `before`, which is not used afterwards.
  Core(Core&& before, const std::shared_ptr<const Settings>& settings, outlet::LocalTime local,
       std::unique_ptr<Recorder> recorder, clock::EngineClock engine_clock);
  static Status can_run(const Settings& settings);
  /// Fills in what is always to be done after an event.
  void finish(bool stopping, Effects& out);

  // core_reload.cpp
  void ask_to_reload(const feeding::Request& request, const broker::Message& message, Instant now,
                     Effects& out);
  void ask_to_reload(const feeding::Request& request, std::uint64_t ticket, Effects& out);
  std::optional<feeding::Reply> reload_refused(const feeding::Request& request, Instant now) const;
  void on(const Reloaded& reloaded, Effects& out);
  /// Replaces our orders for benches that left the settings, before the broker shows them.
  void replace_orders_of_gone(const Settings& before, const orders::OrderBook& given);

  // core.cpp
  void on(const broker::Message& message, Effects& out);
  void on(const BacklogDrained&, Effects& out);
  void on(const SessionTaken& taken, Effects& out);
  void on(const FormerSessionEnded& ended, Effects& out);
  void on(const LinkChanged& change, Effects& out);
  void on(const ListeningChanged& change, Effects& out);
  void on(const PublisherChanged& change, Effects& out);
  void on(const Acknowledged& acknowledged, Effects& out);
  void on(const Refused& refused, Effects& out);
  void on(const Tick&, Effects& out);
  void on(const GoOn&, Effects& out);
  void on(const Took& took, Effects& out);
  void on(const Stop&, Effects& out);
  void look_after_house(Effects& out);

  // core_inputs.cpp
  /// False when the store failed: the message has to be held. A message refused twice by a store
  /// that takes other rows is set aside as it came; after many in a row, one per recovery.
  bool take_or_set_aside(const broker::Message& message, Instant now, Effects& out);
  bool may_set_aside() const;
  bool set_aside(const broker::Message& message, Instant now, const Error& why, Effects& out);
  bool take(const Routed& routed, const broker::Message& message, Instant now, Effects& out);
  bool take(const Measurements& measurements, const broker::Message& message, Instant now,
            Effects& out);
  bool take(const feeding::Request& request, const broker::Message& message, Instant now,
            Effects& out);
  /// None when the store failed.
  std::optional<feeding::Reply> obey(const feeding::Request& request, Instant now, AskedOn where,
                                     Effects& out);
  /// The refusal of a request by its `sent` and `expires`, or because our clock cannot be believed.
  std::optional<feeding::Reply> refused_by_clock(const feeding::Request& request);
  void take_one_held(Effects& out);

  void log_answer(const feeding::Request& request, const feeding::Reply& reply, Effects& out);

  // core_asked.cpp
  void on(const Asked& asked, Effects& out);
  /// The first answer to a request that comes again, whatever has become of store and broker.
  bool answer_again(const feeding::Request& request, AnsweredAsk& answer) const;
  /// Why a request is not taken at this service now: it would not be heard over MQTT either, or
  /// another service gives the orders.
  std::optional<feeding::Reply> refused_here(const feeding::Request& request) const;
  void obey(const feeding::Request& request, AnsweredAsk& answer, Effects& out);
  void try_out(const feeding::Request& request, AnsweredAsk& answer);
  /// The ledger's rows of the last input, `count` at most, oldest first.
  std::vector<store::LedgerRow> newest_rows(std::size_t count);

  // core_time.cpp
  Instant engine_now();
  bool by_readings() const { return settings_->clock.time == ClockMode::readings; }
  bool usable() const { return !recorder_->trouble(); }
  /// Whether the time can be believed at all.
  bool timed() const { return by_readings() || engine_clock_.trust() != ClockTrust::unbelieved; }
  /// Whether messages can be taken: the clock is believed or plausible, or the state has begun.
  bool hears() const {
    return timed() || engine_clock_.plausible() || recorder_->state().now() != kNever;
  }
  /// Records how far the clock is believed now; sets engine time back if it must.
  void settle_clock(Effects& out);
  void keep_time(Effects& out);
  void recover(Effects& out);
  /// Stands aside for another service under our name, or takes over from it.
  void mind_others(Effects& out);
  void give_orders_if_allowed(Effects& out);
  /// Replaces our orders for benches no longer in the settings by plain water.
  void replace_stray_orders(Effects& out);
  /// Overrules orders of others that are beyond reason; only a believed time can tell.
  void judge_orders(Effects& out);
  void tell_of_gap(Effects& out);
  void tell_of_takeover(Effects& out);
  void give_up_id(Instant since, Effects& out);
  void repeat_orders();
  /// False when it could not be written.
  bool deliver(Result<Written> written, Effects& out);
  void strike_off(Effects& out);
  void strike_off_between_orders(Effects& out);
  bool notices_are_timely() const { return session_.is_drained() || by_readings(); }

  status::Service service() const;

  const std::shared_ptr<const Settings> settings_;
  const CoreOptions options_;
  const outlet::LocalTime local_;
  std::unique_ptr<store::Store> store_;
  std::unique_ptr<Recorder> recorder_;
  store::ClientKeys keys_;
  std::vector<std::uint64_t> not_fetched_;  ///< former keys to be tried again at the next start
  clock::EngineClock engine_clock_;
  clock::ClockSample sample_;  ///< of this event
  Router router_;
  BrokerSession session_;
  bool kept_taken_id_ = false;  ///< another client took our id, and a new one could not be stored
  Announcer announcer_;
  Outbox outbox_;
  Others others_;
  StrayOrders strays_;
  Health health_;
  Upkeep upkeep_;
  HeldMessages held_;
  AnsweredAsks asks_;
  std::optional<Routed>
      routed_;  ///< of the message being tried, or of the first held one once it was tried
  int refused_in_a_row_ = 0;                ///< inputs set aside since the last one stored
  bool recovered_since_set_aside_ = false;  ///< by a tick, not while setting another aside
  status::Counts counts_;
  Instant started_{kNever};
  bool was_usable_ = true;  ///< before this event, or since a recovery in it

  Spacing strengths_{minutes(5)}, climate_{seconds(5)}, recovery_{seconds(5)};
  Spacing judged_{seconds(1)};        ///< for orders of others that come one by one
  Spacing strays_due_{seconds(1)};    ///< anybody may publish endless stray orders
  Spacing suspected_{hours(1)};       ///< a broker may hang up for other reasons
  Spacing set_aside_told_{hours(1)};  ///< how often people hear of it
};

}  // namespace plainwater::service
