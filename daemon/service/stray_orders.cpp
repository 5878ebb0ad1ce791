#include "service/stray_orders.h"

#include <algorithm>
#include <limits>

namespace plainwater::service {

void StrayOrders::seen(const std::string& bench, const orders::OrderStamp& stamp,
                       const orders::Self& self) {
  const bool ours =
      stamp.instance == self.instance && !stamp.store.id.empty() && stamp.store.id == self.store.id;
  const bool outranked = stamp.number.epoch >= 0 && stamp.number.epoch <= orders::kMostEpoch &&
                         stamp.number.sequence < std::numeric_limits<std::int64_t>::max();
  if (!ours || !stamp.feeds || !outranked) return;
  if (strays_.size() >= kMost && !strays_.contains(bench)) return;
  auto& highest = strays_.try_emplace(bench, stamp.number).first->second;
  highest = std::max(highest, stamp.number);
}

std::optional<orders::Order> StrayOrders::next(Instant now, Span valid,
                                               const orders::Self& self) const {
  if (strays_.empty()) return std::nullopt;
  const auto& [bench, number] = *strays_.begin();
  orders::Order order;
  order.content.bench = bench;
  order.content.because = words::say("order.no-such-bench");
  order.issued = now;
  order.valid_until = now + valid;
  order.number = {number.epoch, number.sequence + 1};
  order.instance = self.instance;
  order.history_since = self.history_since;
  order.store = self.store;
  return order;
}

}  // namespace plainwater::service
