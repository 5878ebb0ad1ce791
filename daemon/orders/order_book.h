// Which orders fall due, and never an older one after a newer one.
//
// An order falls due when what it says changes, at every re-issue mark (whole multiples of the
// interval since 1970, so that two daemons give the same orders), and once after a start. Its
// sequence is that due time in whole seconds of engine time. Pure: the caller brings the state and
// the time.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/engine.h"
#include "orders/order.h"
#include "settings/settings.h"

namespace plainwater::orders {

class OrderBook {
 public:
  OrderBook(std::shared_ptr<const Settings> settings, std::int64_t epoch)
      : settings_(std::move(settings)), epoch_(epoch) {}

  /// When our store began. A daemon with an older one knows holds that ours does not: while an
  /// order of it is valid, all of ours for that bench are outdated.
  void history_since(std::optional<Instant> since) { history_since_ = since; }
  /// An order of ours or of a second daemon, as the broker holds it.
  /// Binds us until it has expired.
  void seen(const std::string& bench, const OrderStamp& stamp);

  /// Orders whose content changed, or that were not given since the start. `decisions`, in the
  /// order of their times, tell when the change fell due; without any it is now.
  std::vector<Order> changed(const engine::Engine& engine,
                             const std::vector<feeding::Decision>& decisions);
  /// Orders that a re-issue mark has made due since they were last given.
  std::vector<Order> reissued(const engine::Engine& engine);
  /// True when `reissued` would have something to look at; cheap.
  bool mark_passed(Instant now) const { return mark(now) != last_mark_; }
  /// True when half of the orders' validity has gone by since they were looked at.
  bool overdue(Instant now) const {
    return last_mark_ != kNever && now - last_mark_ > seconds(settings_->feeding.order_valid_s) / 2;
  }

  /// Forgets what was given: all orders are due again, as after a start.
  void start_afresh() { given_.clear(); }
  /// The last order given for a bench; none before the first.
  const Order* given(const std::string& bench) const;
  /// True when the broker holds a newer order than this one, or one of a daemon with an older
  /// store.
  bool outdated(const Order& order) const;

 private:
  Instant mark(Instant now) const;
  Order order(OrderContent content, Instant due) const;

  std::shared_ptr<const Settings> settings_;
  std::int64_t epoch_;
  Instant last_mark_{kNever};
  std::map<std::string, Order> given_;  ///< by bench
  struct Seen {
    OrderNumber number;
    Instant valid_until{};
  };
  std::map<std::string, Seen> newest_;  ///< by bench: the newest number known anywhere
  std::optional<Instant> history_since_;
  std::map<std::string, Instant>
      elder_;  ///< by bench: until when an order of a daemon with an older store is valid
};

}  // namespace plainwater::orders
