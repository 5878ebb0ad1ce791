// Which orders fall due, so that an older one never follows a newer one.
//
// An order falls due when its content changes, at every re-issue mark (whole multiples of the
// interval since 1970, so that two daemons give the same orders), and once after a start. Its
// sequence is that due time in whole seconds of engine time, or the last sequence plus one if that
// is not later. Many changes within a second would push the sequence ahead of time and silence
// another daemon with lower numbers, so beyond kMostAhead a change waits, unless it takes feed
// away. What other daemons ordered is judged by OrdersSeen. Pure: the caller passes the state and
// the time.
#pragma once

#include <algorithm>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "engine/engine.h"
#include "orders/orders_seen.h"
#include "settings/settings.h"

namespace plainwater::orders {

class OrderBook {
 public:
  /// How far changes that can wait may push a sequence ahead of time.
  static constexpr Span kMostAhead = seconds(60);

  OrderBook(std::shared_ptr<const Settings> settings, std::int64_t epoch)
      : settings_(std::move(settings)),
        epoch_(std::min(epoch, kMostEpoch)),
        seen_(settings_->broker.instance) {}

  /// For the orders that come next.
  std::int64_t epoch() const { return epoch_; }

  /// An order as the broker holds it, ours or another daemon's. Another daemon's binds us until it
  /// has expired.
  void seen(const std::string& bench, const OrderStamp& stamp);
  /// See OrdersSeen::elders_heard.
  void elders_heard(std::optional<std::set<std::string>> instances) {
    seen_.elders_heard(std::move(instances), given_);
  }
  /// See OrdersSeen::judge. Orders of overruled benches are due again.
  std::vector<Overruled> judge(Instant now);
  /// See OrdersSeen::insist.
  std::vector<Overruled> insist();
  bool needs_judging(Instant now) const { return seen_.needs_judging(now, epoch_); }
  OrdersSeen& orders_seen() { return seen_; }
  const OrdersSeen& orders_seen() const { return seen_; }

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
  /// Numbers go on from those of `before`: a pump remembers them.
  void go_on_counting(const OrderBook& before) { own_ = before.own_; }
  /// The last order given for a bench; none before the first.
  const Order* given(const std::string& bench) const;

 private:
  Instant mark(Instant now) const;
  Before before(const std::string& bench) const;
  OrderNumber number(const OrderContent& content, Instant due) const;
  Order order(OrderContent content, Instant due);
  bool may_wait(const Order& last, const OrderContent& content, Instant now) const;

  std::shared_ptr<const Settings> settings_;
  std::int64_t epoch_;
  OrdersSeen seen_;
  Instant last_mark_{kNever};
  GivenOrders given_;
  std::map<std::string, OrderNumber> own_;  ///< by bench: our highest number, given or seen
  std::set<std::string> waiting_;  ///< benches with a change that waits for time to catch up
};

}  // namespace plainwater::orders
