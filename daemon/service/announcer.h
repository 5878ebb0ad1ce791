// Puts what goes out into its wire form: orders with their placards and strengths, the benches'
// climate, notices, replies, the heartbeat. Pure; the dispatcher decides when each is handed over.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "broker/message.h"
#include "notices/message.h"
#include "orders/order.h"
#include "outlet/local_time.h"
#include "outlet/topics.h"
#include "service/dispatcher.h"
#include "service/effects.h"
#include "service/recorder.h"
#include "settings/settings.h"
#include "status/service.h"

namespace plainwater::service {

class Announcer {
 public:
  Announcer(const std::shared_ptr<const Settings>& settings, const outlet::LocalTime& local);
  /// Goes on with what is on its way from `before`, which is not used afterwards.
  Announcer(const std::shared_ptr<const Settings>& settings, const outlet::LocalTime& local,
            Announcer&& before);

  /// Sends an order. If the broker holds a newer one from another service, only settles its row.
  void order(const OutgoingOrder& order, const Recorded& state, Effects& out);
  /// Sends plain water for a bench that is no longer in the settings, as order and strength, and
  /// takes down its placard. False when it could not be sent.
  bool stray_order(const orders::Order& order, Instant now);
  /// If the broker holds a newer order from another service, withdraws ours that still waits, so
  /// that it does not follow it.
  void withdraw_outdated(const std::string& bench, const Recorded& state);
  /// Repeats the orders given: their strengths, and over MQTT 3.1.1 the whole orders. `usable`: the
  /// state is as recorded, so placards may be made from it.
  void repeat_orders(const Recorded& state, Instant now, bool usable);
  /// An implausible clock cannot time orders, so simple pumps get strength 0: plain water.
  void plain_water_to_all();
  void notice(const OutgoingNotice& notice, Instant now);
  /// False when it could not be sent.
  bool house_notice(const notices::Message& message,
                    const std::optional<engine::AbsenceNow>& absence);
  /// Sends climate and position of benches where something is new.
  void climate(const Recorded& state);
  /// Replies if the request wants it and replies may go to its topic. The first replies wait until
  /// the publisher is connected. Counts separately replies that could not and that may not be sent.
  void reply(const broker::Message& request, std::string_view id, const feeding::Reply& reply,
             Effects& out);
  void heartbeat(const status::Service& service);
  void offline();

  /// Fills in what is on its way and what the broker refuses.
  void describe(Span since_boot, status::Service& service) const;

  std::uint64_t unsent_replies() const { return unsent_replies_; }
  std::uint64_t refused_reply_topics() const { return refused_reply_topics_; }

  Dispatcher& dispatcher() { return dispatcher_; }
  const Dispatcher& dispatcher() const { return dispatcher_; }
  /// A new connection: anything sent before may never have arrived.
  void connected(int protocol_version, std::uint32_t largest_packet);

 private:
  void withdraw(const std::string& bench);
  /// Takes down climate and position of a bench that is in the settings no more.
  void clear(const std::string& bench);
  bool send(Rank rank, std::string topic, std::string payload, bool retain,
            std::optional<std::uint32_t> expiry_s, std::int64_t outbox_row = 0);
  void strength(const orders::Order& order);
  void strength(Rank rank, const std::string& bench, int percent);
  void placard(const orders::Order& order, const Recorded& state, bool retain,
               std::optional<std::uint32_t> expiry_s);
  void news(const std::string& topic, const engine::BenchNow& bench, Instant now,
            std::string (*form)(const engine::BenchNow&, Instant), Instant fixed);

  std::shared_ptr<const Settings> settings_;
  outlet::Topics topics_;
  outlet::LocalTime local_;
  Dispatcher dispatcher_;
  std::map<std::string, orders::OrderNumber> told_outdated_;  ///< by bench
  std::map<std::string, std::string> last_news_;              ///< by topic: what was sent last
  std::set<std::string> cleared_;                             ///< benches, since the connection
  std::vector<broker::Publication> early_replies_;            ///< from before the connection
  std::size_t early_bytes_ = 0;
  std::uint64_t unsent_replies_ = 0;
  std::uint64_t refused_reply_topics_ = 0;
};

}  // namespace plainwater::service
