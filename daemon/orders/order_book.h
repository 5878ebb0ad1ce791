// Which orders fall due, so that an older one never follows a newer one.
//
// An order falls due when its content changes, at every re-issue mark (whole multiples of the
// interval since 1970, so that two daemons give the same orders), and once after a start. Its
// sequence is that due time in whole seconds of engine time, or the last sequence plus one if that
// is not later. Many changes within a second would push the sequence ahead of time and silence
// another daemon with lower numbers, so beyond kMostAhead a change waits, unless it takes feed
// away.
//
// Numbers of other daemons bind us; our own do not, we continue from them. An unreasonably high
// number binds nobody and is outranked by a higher epoch. Plain water yields only to a daemon with
// an older store that is known to be alive: if any other daemon orders feed where we give plain
// water, we answer with a newer order of plain water. Pure: the caller passes the state and the
// time.
#pragma once

#include <algorithm>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "engine/engine.h"
#include "orders/highest_seen.h"
#include "orders/order.h"
#include "settings/settings.h"

namespace plainwater::orders {

class OrderBook {
 public:
  /// How far changes that can wait may push a sequence ahead of time.
  static constexpr Span kMostAhead = seconds(60);
  /// A sequence further ahead of a trusted time is unreasonable. Two machines with working clocks
  /// stay within this, including kMostAhead and changes that cannot wait.
  static constexpr Span kReason = minutes(15);
  /// The longest validity of an order that the settings allow.
  static constexpr Span kLongestValid = 7 * kDay;

  OrderBook(std::shared_ptr<const Settings> settings, std::int64_t epoch)
      : settings_(std::move(settings)), epoch_(std::min(epoch, kMostEpoch)) {}

  /// Of our store.
  void store_name(StoreName name) { store_ = std::move(name); }
  const StoreName& store_name() const { return store_; }
  /// When our store began. A daemon with an older store knows holds that ours does not: while an
  /// order of it is valid, all of ours for that bench are outdated.
  void history_since(std::optional<Instant> since) { history_since_ = since; }
  std::optional<Instant> history_since() const { return history_since_; }
  /// For the orders that come next.
  std::int64_t epoch() const { return epoch_; }

  /// An order as the broker holds it, ours or another daemon's. Another daemon's binds us until it
  /// has expired.
  void seen(const std::string& bench, const OrderStamp& stamp);
  /// What others gave, to be stored; and what was stored before a restart.
  HighestSeen& highest_seen() { return highest_seen_; }

  /// The instances of other daemons with an older store that are alive at the broker. None: not
  /// known yet, so assume that whoever gave an order is alive.
  void elders_heard(std::optional<std::set<std::string>> instances);

  /// An order that was overruled.
  struct Overruled {
    std::string bench;
    OrderStamp stamp;
    bool outranked = true;       ///< false: it has the highest possible epoch
    bool within_reason = false;  ///< but it would feed a bench that must have plain water
  };
  /// Judges the orders seen, at a trusted time, and overrules unreasonable ones: the epoch rises
  /// above theirs. The epoch also rises to that of our lineage, and to that of an expired order,
  /// because a pump remembers its number. An order that would feed a bench that must have plain
  /// water is overruled as well. Orders of all these benches are due again.
  std::vector<Overruled> judge(Instant now);
  /// The part of `judge` that needs no trusted time: gives plain water again over an order that
  /// would feed.
  std::vector<Overruled> insist();
  bool is_contradicted() const { return !contradicted_.empty(); }
  /// True when `judge` would do something; cheap.
  bool needs_judging(Instant now) const;

  /// Orders whose content changed, or that were not given since the start. `decisions`, in order of
  /// time, say when the change fell due; without any it is now.
  std::vector<Order> changed(const engine::Engine& engine,
                             const std::vector<feeding::Decision>& decisions);
  /// The orders that `changed` replaced, by bench, so that it can be undone: with thousands of
  /// benches this is cheaper than a copy of the whole book.
  struct Before {
    std::optional<Order> given;
    std::optional<OrderNumber> own;
    bool waited = false;
  };
  using Undo = std::map<std::string, Before>;
  /// The same for a state that was already examined, and how to undo it.
  std::vector<Order> changed(Instant now, const std::vector<engine::BenchNow>& benches,
                             const std::vector<engine::PumpNow>& pumps,
                             const std::vector<feeding::Decision>& decisions, Undo& undo);
  void take_back(Undo undo);
  /// Orders that a re-issue mark has made due since they were last given, and changes that waited.
  std::vector<Order> reissued(const engine::Engine& engine);
  /// True when `reissued` would have something to do; cheap.
  bool mark_passed(Instant now) const { return mark(now) != last_mark_ || !waiting_.empty(); }
  /// True when a re-issue mark has passed since the last call.
  bool struck(Instant now) const { return mark(now) != last_mark_; }
  /// True when half of the orders' validity has passed since the last call.
  bool overdue(Instant now) const {
    return last_mark_ != kNever && now - last_mark_ > seconds(settings_->feeding.order_valid_s) / 2;
  }

  /// Time is set back to `to`: the epoch rises, so that later orders outrank those given while the
  /// time was wrong, and all orders are due again.
  void set_back(Instant to);
  /// Forgets what was given, but not the numbers: all orders are due again, as after a start.
  void start_afresh() { given_.clear(); }
  /// The last order given for a bench; none before the first.
  const Order* given(const std::string& bench) const;
  /// True when the broker holds a newer order of another daemon than ours, or any order of a daemon
  /// with an older store.
  bool outdated(const Order& order) const;

 private:
  struct Seen {
    OrderStamp stamp;
    bool own = false;
  };

  Instant mark(Instant now) const;
  Before before(const std::string& bench) const;
  OrderNumber number(const OrderContent& content, Instant due) const;
  /// The number of another daemon that a pump remembers and that binds us no more.
  std::optional<OrderNumber> remembered_by_pump(const OrderContent& content, Instant due) const;
  bool yields_to(const std::string& bench, const OrderStamp& stamp) const;
  void look_for_contradiction(const std::string& bench, const OrderStamp& stamp, bool own);
  Order order(OrderContent content, Instant due);
  bool may_wait(const Order& last, const OrderContent& content, Instant now) const;
  bool is_own(const OrderStamp& stamp) const;
  bool is_elder(const OrderStamp& stamp) const;
  bool is_beyond_reason(const OrderNumber& number, Instant now) const;
  /// True for an order that claims an older store but a validity longer than any allowed.
  static bool is_endless(const OrderStamp& elders, Instant now);
  /// True for such an order, or one with an unreasonable number, that was not judged yet.
  bool is_new_fault_of_elder(const std::string& bench, const OrderStamp& elders, Instant now) const;
  bool is_overruled(const std::string& bench, const OrderNumber& number) const;
  /// We continue its number: it is of our lineage, or a pump remembers it from a daemon that is
  /// gone.
  bool is_higher_epoch_to_follow(const Seen& seen, Instant now) const;

  std::shared_ptr<const Settings> settings_;
  std::int64_t epoch_;
  StoreName store_;
  std::optional<Instant> history_since_;
  Instant last_mark_{kNever};
  std::map<std::string, Order> given_;      ///< by bench
  std::map<std::string, OrderNumber> own_;  ///< by bench: our highest number, given or seen
  std::map<std::string, Seen> newest_;      ///< by bench: the newest number seen from anyone
  HighestSeen highest_seen_;                ///< of other daemons, remembered by pumps
  std::map<std::string, OrderStamp>
      elder_;  ///< by bench: the longest valid order of a daemon with an older store
  std::map<std::string, OrderNumber> overruled_;  ///< by bench: orders of a daemon with an older
                                                  ///< store that no longer keep plain water back
  std::map<std::string, OrderStamp>
      refused_;  ///< by bench: orders with an impossible epoch, not yet judged
  std::map<std::string, OrderStamp> contradicted_;  ///< by bench: orders that would feed where we
                                                    ///< give plain water, not yet judged
  std::set<std::string> waiting_;  ///< benches with a change that waits for time to catch up
  std::optional<std::set<std::string>> elders_heard_;
};

}  // namespace plainwater::orders
