#include "orders/order_book.h"

#include <algorithm>
#include <map>
#include <optional>
#include <string_view>

namespace plainwater::orders {
namespace {

/// Which pump feeds a bench; of thousands of benches none looks through thousands of pumps.
class PumpsByBench {
 public:
  explicit PumpsByBench(const std::vector<engine::PumpNow>& pumps) {
    for (const auto& pump : pumps)
      for (const auto& bench : pump.benches) of_.emplace(bench, &pump);
  }
  const engine::PumpNow* of(const std::string& bench) const {
    const auto found = of_.find(bench);
    return found == of_.end() ? nullptr : found->second;
  }

 private:
  std::map<std::string_view, const engine::PumpNow*> of_;
};

/// When an order changed: with the newest decision about the bench or one that shares its pump;
/// else with the newest of all (a pump was armed), else now.
class DueTimes {
 public:
  DueTimes(const std::vector<feeding::Decision>& decisions, Instant now)
      : decisions_(decisions), now_(now) {
    for (std::size_t i = 0; i < decisions.size(); ++i) newest_[decisions[i].bench] = i;
  }
  Instant of(const std::string& bench, const engine::PumpNow* pump) const {
    if (decisions_.empty()) return now_;
    std::optional<std::size_t> newest = newest_about(bench);
    if (pump != nullptr)
      for (const auto& other : pump->benches) newest = std::max(newest, newest_about(other));
    return decisions_[newest.value_or(decisions_.size() - 1)].time;
  }

 private:
  std::optional<std::size_t> newest_about(const std::string& bench) const {
    const auto found = newest_.find(bench);
    return found == newest_.end() ? std::nullopt : std::optional(found->second);
  }

  const std::vector<feeding::Decision>& decisions_;
  Instant now_;
  std::map<std::string_view, std::size_t> newest_;  ///< by bench
};

}  // namespace

void OrderBook::seen(const std::string& bench, const OrderStamp& stamp) {
  const auto [known, fresh] = newest_.try_emplace(bench, Seen{stamp.number, stamp.valid_until});
  if (!fresh && known->second.number <= stamp.number)
    known->second = {stamp.number, stamp.valid_until};
  const bool elder = stamp.history_since && history_since_ &&
                     *stamp.history_since < *history_since_ &&
                     stamp.instance != settings_->broker.instance;
  if (!elder) return;
  auto& until = elder_.try_emplace(bench, stamp.valid_until).first->second;
  until = std::max(until, stamp.valid_until);
}

Instant OrderBook::mark(Instant now) const {
  const std::int64_t interval = std::max(1, settings_->feeding.reissue_s);
  const std::int64_t at = to_seconds(now);
  return from_seconds(at - ((at % interval) + interval) % interval);
}

Order OrderBook::order(OrderContent content, Instant due) const {
  Order order;
  order.number = {epoch_, to_seconds(due)};
  // A second change within one second still has to replace the first on the wire.
  if (const auto last = given_.find(content.bench);
      last != given_.end() && order.number <= last->second.number)
    order.number.sequence = last->second.number.sequence + 1;
  order.issued = due;
  order.valid_until = due + seconds(settings_->feeding.order_valid_s);
  order.instance = settings_->broker.instance;
  order.history_since = history_since_;
  order.content = std::move(content);
  return order;
}

std::vector<Order> OrderBook::changed(const engine::Engine& engine,
                                      const std::vector<feeding::Decision>& decisions) {
  std::vector<Order> due;
  const auto pumps = engine.pumps();
  const PumpsByBench by_bench(pumps);
  const DueTimes due_times(decisions, engine.now());
  for (const auto& bench : engine.benches()) {
    const auto* pump = by_bench.of(bench.name);
    OrderContent content = content_by(bench, pump);
    const auto last = given_.find(bench.name);
    if (last != given_.end() && last->second.content == content) continue;
    const Instant when = last == given_.end() ? engine.now() : due_times.of(bench.name, pump);
    due.push_back(order(std::move(content), when));
    given_.insert_or_assign(bench.name, due.back());
  }
  return due;
}

std::vector<Order> OrderBook::reissued(const engine::Engine& engine) {
  const Instant now_mark = mark(engine.now());
  last_mark_ = now_mark;
  std::vector<Order> due;
  const auto pumps = engine.pumps();
  const PumpsByBench by_bench(pumps);
  for (const auto& bench : engine.benches()) {
    const auto last = given_.find(bench.name);
    if (last == given_.end() || last->second.issued >= now_mark) continue;
    due.push_back(order(content_by(bench, by_bench.of(bench.name)), now_mark));
    given_.insert_or_assign(bench.name, due.back());
  }
  return due;
}

const Order* OrderBook::given(const std::string& bench) const {
  const auto found = given_.find(bench);
  return found == given_.end() ? nullptr : &found->second;
}

bool OrderBook::outdated(const Order& order) const {
  const auto elder = elder_.find(order.content.bench);
  if (elder != elder_.end() && order.issued <= elder->second) return true;
  const auto found = newest_.find(order.content.bench);
  return found != newest_.end() && order.number < found->second.number &&
         order.issued <= found->second.valid_until;
}

}  // namespace plainwater::orders
