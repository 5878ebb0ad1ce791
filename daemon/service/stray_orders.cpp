#include "service/stray_orders.h"

#include <algorithm>
#include <limits>

namespace plainwater::service {

void StrayOrders::seen(const std::string& bench, const orders::OrderStamp& stamp,
                       const orders::Self& self) {
  const bool ours = !stamp.store.id.empty() && self.gave(stamp);
  const bool outranked = stamp.number.is_possible() &&
                         stamp.number.sequence < std::numeric_limits<std::int64_t>::max();
  if (!ours || !outranked) return;
  const auto known = strays_.find(bench);
  if (!stamp.feeds) {
    if (known != strays_.end() && known->second.number < stamp.number) strays_.erase(known);
  } else if (known != strays_.end()) {
    if (known->second.number < stamp.number) known->second = {stamp.number};
  } else if (strays_.size() < kMost) {
    strays_.emplace(bench, Stray{stamp.number});
  }
}

void StrayOrders::sent(const orders::Order& by) {
  if (const auto known = strays_.find(by.content.bench); known != strays_.end())
    known->second.sent = true;
}

void StrayOrders::connection_lost() {
  for (auto& [bench, stray] : strays_) stray.sent = false;
}

std::optional<orders::Order> StrayOrders::next(Instant now, Span valid,
                                               const orders::Self& self) const {
  const auto found = std::ranges::find_if(strays_, [](const auto& s) { return !s.second.sent; });
  if (found == strays_.end()) return std::nullopt;
  const auto& [bench, stray] = *found;
  orders::Order order;
  order.content.bench = bench;
  order.content.because = words::say("order.no-such-bench");
  order.issued = now;
  order.valid_until = now + valid;
  order.number = {stray.number.epoch, stray.number.sequence + 1};
  self.sign(order);
  return order;
}

}  // namespace plainwater::service
