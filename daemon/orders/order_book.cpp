#include "orders/order_book.h"

#include <algorithm>
#include <limits>
#include <map>
#include <optional>
#include <string_view>

namespace plainwater::orders {
namespace {

/// Indexes pumps by bench, so that thousands of benches do not each search thousands of pumps.
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

/// When an order changed: at the newest decision about the bench or one that shares its pump;
/// otherwise at the newest decision of all (a pump was armed), otherwise now.
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
  const auto ours = own_.find(bench);
  const bool own = seen_.take(bench, stamp, given(bench),
                              ours == own_.end() ? std::nullopt : std::optional(ours->second));
  if (!own) return;
  auto& highest = own_.try_emplace(bench, stamp.number).first->second;
  highest = std::max(highest, stamp.number);
}

std::vector<Overruled> OrderBook::judge(Instant now) {
  auto verdict = seen_.judge(now, epoch_);
  for (const auto& bench : verdict.due) given_.erase(bench);
  epoch_ = verdict.epoch;
  return std::move(verdict.overruled);
}

std::vector<Overruled> OrderBook::insist() {
  auto found = seen_.insist();
  for (const auto& overruled : found) given_.erase(overruled.bench);
  return found;
}

Instant OrderBook::mark(Instant now) const {
  const std::int64_t interval = std::max(1, settings_->feeding.reissue_s);
  const std::int64_t at = to_seconds(now);
  return from_seconds(at - ((at % interval) + interval) % interval);
}

OrderNumber OrderBook::number(const OrderContent& content, Instant due) const {
  const std::string& bench = content.bench;
  const OrderNumber by_time{epoch_, to_seconds(due)};
  // A second change within one second must still replace the first on the wire.
  std::optional<OrderNumber> last;
  if (const auto own = own_.find(bench); own != own_.end()) last = own->second;
  if (const auto remembered = seen_.remembered_by_pump(content, due))
    last = std::max(last, remembered);
  if (!last || *last < by_time) return by_time;
  // A stranger may publish any number in our name.
  constexpr auto kLast = std::numeric_limits<std::int64_t>::max();
  return {last->epoch, std::min(last->sequence, kLast - 1) + 1};
}

Order OrderBook::order(OrderContent content, Instant due) {
  Order order;
  order.number = number(content, due);
  order.issued = due;
  order.valid_until = due + seconds(settings_->feeding.order_valid_s);
  seen_.self().sign(order);
  order.content = std::move(content);
  own_.insert_or_assign(order.content.bench, order.number);
  waiting_.erase(order.content.bench);
  given_.insert_or_assign(order.content.bench, order);
  return order;
}

bool OrderBook::may_wait(const Order& last, const OrderContent& content, Instant now) const {
  // In a played season, time stops between two readings: it would wait for ever.
  if (settings_->clock.time == ClockMode::readings) return false;
  return number(content, now).sequence > to_seconds(now + kMostAhead) &&
         !takes_feed_away(last.content, content);
}

std::vector<Order> OrderBook::changed(const engine::Engine& engine,
                                      const std::vector<feeding::Decision>& decisions) {
  Undo undo;
  return changed(engine.now(), engine.benches(), engine.pumps(), decisions, undo);
}

std::vector<Order> OrderBook::changed(Instant now, const std::vector<engine::BenchNow>& benches,
                                      const std::vector<engine::PumpNow>& pumps,
                                      const std::vector<feeding::Decision>& decisions, Undo& undo) {
  std::vector<Order> due;
  const PumpsByBench by_bench(pumps);
  const DueTimes due_times(decisions, now);
  for (const auto& bench : benches) {
    const auto* pump = by_bench.of(bench.name);
    OrderContent content = content_by(bench, pump);
    const auto last = given_.find(bench.name);
    const bool same = last != given_.end() && last->second.content == content;
    if (same && !waiting_.contains(bench.name)) continue;
    undo.try_emplace(bench.name, before(bench.name));
    if (same) {
      waiting_.erase(bench.name);
    } else if (last == given_.end()) {
      due.push_back(order(std::move(content), now));
    } else if (may_wait(last->second, content, now)) {
      waiting_.insert(bench.name);
    } else {
      const Instant when = due_times.of(bench.name, pump);
      due.push_back(order(std::move(content), when));
    }
  }
  return due;
}

OrderBook::Before OrderBook::before(const std::string& bench) const {
  Before before;
  if (const auto* last = given(bench)) before.given = *last;
  if (const auto own = own_.find(bench); own != own_.end()) before.own = own->second;
  before.waited = waiting_.contains(bench);
  return before;
}

void OrderBook::take_back(Undo undo) {
  for (auto& [bench, before] : undo) {
    if (before.given)
      given_.insert_or_assign(bench, std::move(*before.given));
    else
      given_.erase(bench);
    if (before.own)
      own_.insert_or_assign(bench, *before.own);
    else
      own_.erase(bench);
    if (before.waited)
      waiting_.insert(bench);
    else
      waiting_.erase(bench);
  }
}

std::vector<Order> OrderBook::reissued(const engine::Engine& engine) {
  const Instant now_mark = mark(engine.now());
  last_mark_ = now_mark;
  std::vector<Order> due;
  const auto pumps = engine.pumps();
  const PumpsByBench by_bench(pumps);
  for (const auto& bench : engine.benches()) {
    const auto last = given_.find(bench.name);
    if (last == given_.end()) continue;
    const bool waits = waiting_.contains(bench.name);
    const bool marked = last->second.issued < now_mark;
    if (!waits && !marked) continue;
    OrderContent content = content_by(bench, by_bench.of(bench.name));
    if (!marked && content == last->second.content) {
      waiting_.erase(bench.name);
      continue;
    }
    if (!marked && may_wait(last->second, content, engine.now())) continue;
    due.push_back(order(std::move(content), marked ? now_mark : engine.now()));
  }
  return due;
}

void OrderBook::set_back(Instant to) {
  epoch_ = std::min(epoch_ + 1, kMostEpoch);
  given_.clear();
  waiting_.clear();
  last_mark_ = kNever;
  if (auto& since = seen_.self().history_since) since = std::min(*since, to);
}

const Order* OrderBook::given(const std::string& bench) const {
  const auto found = given_.find(bench);
  return found == given_.end() ? nullptr : &found->second;
}

}  // namespace plainwater::orders
