// Our orders for benches that are no longer in the settings: a pump on such a topic would follow
// them until they expire, and no request can reach the bench. Each is replaced by plain water.
// Pure.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>

#include "orders/orders_seen.h"

namespace plainwater::service {

class StrayOrders {
 public:
  /// The most that are kept, as anybody may publish such orders.
  static constexpr std::size_t kMost = 1000;

  /// Takes an order for a bench that is not in the settings: one of ours that lets feed flow, or
  /// the one that replaced it. Leaves alone orders of another daemon, whose settings may have the
  /// bench.
  void seen(const std::string& bench, const orders::OrderStamp& stamp, const orders::Self& self);
  /// The next replacement, an order of plain water; none when all are replaced.
  std::optional<orders::Order> next(Instant now, Span valid, const orders::Self& self) const;
  /// The order is on its way; once it comes back by `seen` the broker has it.
  void sent(const orders::Order& by);
  /// Anything on its way may be lost.
  void connection_lost();

 private:
  struct Stray {
    orders::OrderNumber number;
    bool sent = false;
  };
  std::map<std::string, Stray> strays_;  ///< by bench
};

}  // namespace plainwater::service
