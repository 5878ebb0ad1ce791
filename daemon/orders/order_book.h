// Which orders fall due, and never an older one after a newer one.
//
// An order falls due when what it says changes, at every re-issue mark (whole multiples of the
// interval since 1970, so that two daemons give the same orders), and once after a start. Its
// sequence is that due time in whole seconds of engine time, or one more than the last where that
// is not later. So many changes within a second would carry numbers ahead of time, and another
// daemon whose numbers are not would be silenced by them: beyond kMostAhead a change waits, unless
// it takes feed away.
//
// Numbers of other daemons bind us, our own do not: those we go on from. A number that no time
// would reach soon binds nobody; it is outranked by a higher epoch. Plain water yields to nobody
// but a daemon with an older store that is really heard: an order of another one that would feed is
// answered by a newer one of plain water. Pure: the caller brings the state and the time.
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
  /// How far a sequence may run ahead of time by changes that can wait.
  static constexpr Span kMostAhead = seconds(60);
  /// A sequence so far ahead of the time that we believe is beyond reason: two machines that keep
  /// their clocks, and whatever kMostAhead and changes that cannot wait add to it, stay within it.
  static constexpr Span kReason = minutes(15);
  /// The longest that the settings let an order be valid.
  static constexpr Span kLongestValid = 7 * kDay;

  OrderBook(std::shared_ptr<const Settings> settings, std::int64_t epoch)
      : settings_(std::move(settings)), epoch_(std::min(epoch, kMostEpoch)) {}

  /// Our store's.
  void store_name(StoreName name) { store_ = std::move(name); }
  const StoreName& store_name() const { return store_; }
  /// When our store began. A daemon with an older one knows holds that ours does not: while an
  /// order of it is valid, all of ours for that bench are outdated.
  void history_since(std::optional<Instant> since) { history_since_ = since; }
  std::optional<Instant> history_since() const { return history_since_; }
  /// Of the orders that come next.
  std::int64_t epoch() const { return epoch_; }

  /// An order of ours or of a second daemon, as the broker holds it. Of another one, it binds us
  /// until it has expired.
  void seen(const std::string& bench, const OrderStamp& stamp);
  /// What others gave, to be stored; and what was stored before a restart.
  HighestSeen& highest_seen() { return highest_seen_; }

  /// The instances of other daemons with an older store that are alive at the broker; none: it
  /// cannot be told yet, and whoever gave an order may be there.
  void elders_heard(std::optional<std::set<std::string>> instances);

  /// An order beyond reason.
  struct Overruled {
    std::string bench;
    OrderStamp stamp;
    bool outranked = true;       ///< false: its epoch is the highest there is
    bool within_reason = false;  ///< but it would feed a bench that must have plain water
  };
  /// Looks at what was seen by a time that is believed. What is beyond reason is overruled: the
  /// epoch rises above it. The epoch also rises to that of our lineage, and to that of an order
  /// that has expired: a pump remembers its number. What would feed a bench that must have plain
  /// water is overruled as well. Orders of these benches are due again.
  std::vector<Overruled> judge(Instant now);
  /// Of that only what needs no belief in the time: plain water is given again over what would
  /// feed.
  std::vector<Overruled> insist();
  bool is_contradicted() const { return !contradicted_.empty(); }
  /// True when `judge` would do something; cheap.
  bool needs_judging(Instant now) const;

  /// Orders whose content changed, or that were not given since the start. `decisions`, in the
  /// order of their times, tell when the change fell due; without any it is now.
  std::vector<Order> changed(const engine::Engine& engine,
                             const std::vector<feeding::Decision>& decisions);
  /// What `changed` found, by bench, so that it can be taken back: of thousands of benches a copy
  /// of the book costs more than one that changes.
  struct Before {
    std::optional<Order> given;
    std::optional<OrderNumber> own;
    bool waited = false;
  };
  using Undo = std::map<std::string, Before>;
  /// The same of a state that was looked at already, and how it is taken back.
  std::vector<Order> changed(Instant now, const std::vector<engine::BenchNow>& benches,
                             const std::vector<engine::PumpNow>& pumps,
                             const std::vector<feeding::Decision>& decisions, Undo& undo);
  void take_back(Undo undo);
  /// Orders that a re-issue mark has made due since they were last given, and changes that waited.
  std::vector<Order> reissued(const engine::Engine& engine);
  /// True when `reissued` would have something to look at; cheap.
  bool mark_passed(Instant now) const { return mark(now) != last_mark_ || !waiting_.empty(); }
  /// A re-issue mark has passed since.
  bool struck(Instant now) const { return mark(now) != last_mark_; }
  /// True when half of the orders' validity has gone by since they were looked at.
  bool overdue(Instant now) const {
    return last_mark_ != kNever && now - last_mark_ > seconds(settings_->feeding.order_valid_s) / 2;
  }

  /// Time goes back to `to`: the epoch rises, so that the orders that follow outrank those of the
  /// time that was wrong, and all are due again.
  void set_back(Instant to);
  /// Forgets what was given, not its numbers: all orders are due again, as after a start.
  void start_afresh() { given_.clear(); }
  /// The last order given for a bench; none before the first.
  const Order* given(const std::string& bench) const;
  /// True when the broker holds a newer order of another daemon than this one, or one of a daemon
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
  /// What says that it is of a daemon with an older store: valid for longer than any may be.
  static bool is_endless(const OrderStamp& elders, Instant now);
  /// That, or a number that a wrong clock gave or somebody forged, and not yet judged.
  bool is_new_fault_of_elder(const std::string& bench, const OrderStamp& elders, Instant now) const;
  bool is_overruled(const std::string& bench, const OrderNumber& number) const;
  /// To be followed: of our lineage, or what a pump remembers of a daemon that is gone.
  bool is_higher_epoch_to_follow(const Seen& seen, Instant now) const;

  std::shared_ptr<const Settings> settings_;
  std::int64_t epoch_;
  StoreName store_;
  std::optional<Instant> history_since_;
  Instant last_mark_{kNever};
  std::map<std::string, Order> given_;      ///< by bench
  std::map<std::string, OrderNumber> own_;  ///< by bench: our highest, given or seen
  std::map<std::string, Seen> newest_;      ///< by bench: the newest number seen anywhere
  HighestSeen highest_seen_;
  std::map<std::string, OrderStamp> elder_;  ///< by bench: of a daemon with an older store, that
                                             ///< which is valid longest
  std::map<std::string, OrderNumber>
      overruled_;  ///< by bench: of a daemon with an older store; it keeps no plain water back
  std::map<std::string, OrderStamp> refused_;  ///< by bench: its epoch is none; not yet judged
  std::map<std::string, OrderStamp>
      contradicted_;  ///< by bench: would feed one that must have plain water; not yet judged
  std::set<std::string> waiting_;  ///< benches with a change that waits for time
  std::optional<std::set<std::string>> elders_heard_;
};

}  // namespace plainwater::orders
