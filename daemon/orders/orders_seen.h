// Orders as the broker holds them, ours and those of other daemons: which of them bind us, and
// which are overruled.
//
// Numbers of other daemons bind us; our own do not, we continue from them. An unreasonably high
// number binds nobody and is outranked by a higher epoch. Plain water yields only to a daemon with
// an older store that is known to be alive: if any other daemon orders feed where we give plain
// water, we answer with a newer order of plain water. Pure: the caller passes the time, and the
// orders that we gave.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "orders/highest_seen.h"
#include "orders/order.h"

namespace plainwater::orders {

/// Our last order for each bench.
using GivenOrders = std::map<std::string, Order>;

/// Who gives our orders.
struct Self {
  std::string instance;
  StoreName store{};
  /// When our store began. A daemon with an older store knows holds that ours does not: while an
  /// order of it is valid, all of ours for that bench are outdated.
  std::optional<Instant> history_since{};

  bool gave(const OrderStamp& stamp) const;
  /// Fills in who gives the order.
  void sign(Order& order) const;
};

/// An order that was overruled.
struct Overruled {
  std::string bench;
  OrderStamp stamp;
  bool outranked = true;       ///< false: it has the highest possible epoch
  bool within_reason = false;  ///< but it would feed a bench that must have plain water
};

class OrdersSeen {
 public:
  /// A sequence further ahead of a trusted time is unreasonable. Two machines with working clocks
  /// stay within this, including changes that ran ahead of time and those that cannot wait.
  static constexpr Span kReason = minutes(15);
  /// The longest validity of an order that the settings allow.
  static constexpr Span kLongestValid = 7 * kDay;

  explicit OrdersSeen(std::string instance) : self_{std::move(instance)} {}

  Self& self() { return self_; }
  const Self& self() const { return self_; }
  HighestSeen& highest() { return highest_; }

  /// Takes an order that the broker holds. `last` is our last order for the bench, or null; `ours`
  /// our highest number for it so far. Returns true when the order is our own.
  bool take(const std::string& bench, const OrderStamp& stamp, const Order* last,
            std::optional<OrderNumber> ours);
  /// The instances of other daemons with an older store that are alive at the broker. None: not
  /// known yet, so assume that whoever gave an order is alive.
  void elders_heard(std::optional<std::set<std::string>> instances, const GivenOrders& given);

  struct Verdict {
    std::vector<Overruled> overruled;
    std::set<std::string> due;  ///< benches whose orders are due again
    std::int64_t epoch = 0;     ///< of the orders that come next
  };
  /// Judges the orders, at a trusted time, and overrules unreasonable ones: the epoch rises above
  /// theirs. It also rises to that of our lineage, and to that of an expired order, because a pump
  /// remembers its number. An order that would feed a bench that must have plain water is overruled
  /// as well.
  Verdict judge(Instant now, std::int64_t epoch);
  /// The part of `judge` that needs no trusted time: overrules orders that would feed where we give
  /// plain water. Orders of their benches are due again.
  std::vector<Overruled> insist();
  bool is_contradicted() const { return !contradicted_.empty(); }
  /// True when `judge` would do something; cheap.
  bool needs_judging(Instant now, std::int64_t epoch) const;

  /// True when the broker holds a newer order of another daemon than ours, or any order of a daemon
  /// with an older store.
  bool outdates(const Order& ours) const;
  /// The number of another daemon that a pump remembers and that binds us no more; an order of ours
  /// that is due then continues it.
  std::optional<OrderNumber> remembered_by_pump(const OrderContent& content, Instant due) const;

 private:
  struct Seen {
    OrderStamp stamp;
    bool own = false;
  };
  using Stamps = std::map<std::string, OrderStamp>;  ///< by bench

  bool is_elder(const OrderStamp& stamp) const;
  /// Our plain water waits while this order is valid.
  bool yields_to(const std::string& bench, const OrderStamp& stamp) const;
  void look_for_contradiction(const std::string& bench, const OrderStamp& stamp, bool own,
                              const Order* last);
  static bool is_beyond_reason(const OrderNumber& number, Instant now, std::int64_t epoch);
  /// True for such a number that a higher epoch can outrank.
  static bool is_remembered_beyond_reason(const OrderNumber& number, Instant now,
                                          std::int64_t epoch);
  /// True for an order that claims an older store but a validity longer than any allowed.
  static bool is_endless(const OrderStamp& elders, Instant now);
  /// True for such an order, or one with an unreasonable number, that was not judged yet.
  bool is_new_fault_of_elder(const std::string& bench, const OrderStamp& elders, Instant now) const;
  bool is_overruled(const std::string& bench, const OrderNumber& number) const;
  /// We continue its number: it is of our lineage, or a pump remembers it from a daemon that is
  /// gone.
  bool is_higher_epoch_to_follow(const Seen& seen, Instant now, std::int64_t epoch) const;

  Self self_;
  std::map<std::string, Seen> newest_;  ///< by bench: the newest number seen from anyone
  HighestSeen highest_;                 ///< of other daemons, remembered by pumps
  Stamps elder_;                        ///< the longest valid order of a daemon with an older store
  std::map<std::string, OrderNumber> overruled_;  ///< by bench: orders of a daemon with an older
                                                  ///< store that no longer keep plain water back
  Stamps refused_;       ///< orders with an impossible epoch, not yet judged
  Stamps contradicted_;  ///< orders that would feed where we give plain water, not yet judged
  std::optional<std::set<std::string>> elders_heard_;
};

}  // namespace plainwater::orders
