// Orders of ours for benches that the settings no longer name: a pump on such a topic would follow
// them until they expire, and no request reaches the bench. Each is replaced by plain water. Pure.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>

#include "orders/orders_seen.h"

namespace plainwater::service {

class StrayOrders {
 public:
  /// So many are kept, as anybody may publish such orders.
  static constexpr std::size_t kMost = 1000;

  /// Takes an order for a bench that is not in the settings: one of ours that lets feed flow there,
  /// or the one that replaced it. Another daemon's, whose settings may name the bench, are left
  /// alone.
  void seen(const std::string& bench, const orders::OrderStamp& stamp, const orders::Self& self);
  /// The next order of plain water that replaces one; none when all are replaced.
  std::optional<orders::Order> next(Instant now, Span valid, const orders::Self& self) const;
  /// The order is on its way. It is known to be at the broker once it comes back by `seen`.
  void sent(const orders::Order& by);
  /// What was on its way may be lost.
  void connection_lost();

 private:
  struct Stray {
    orders::OrderNumber number;
    bool sent = false;
  };
  std::map<std::string, Stray> strays_;  ///< by bench
};

}  // namespace plainwater::service
