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

/// It would feed a bench that we give plain water.
bool contradicts(const Order* ours, const OrderStamp& stamp) {
  return stamp.feeds && ours != nullptr && !ours->content.stock_open();
}

}  // namespace

bool OrderBook::is_own(const OrderStamp& stamp) const {
  if (stamp.instance != settings_->broker.instance) return false;
  // An older program did not name its store: go by its age.
  return stamp.store.id.empty() ? stamp.history_since == history_since_
                                : stamp.store.id == store_.id;
}

bool OrderBook::is_elder(const OrderStamp& stamp) const {
  return stamp.history_since && history_since_ && *stamp.history_since < *history_since_ &&
         stamp.instance != settings_->broker.instance;
}

void OrderBook::seen(const std::string& bench, const OrderStamp& stamp) {
  if (stamp.number.epoch < 0 || stamp.number.epoch > kMostEpoch) {
    refused_.insert_or_assign(bench, stamp);
    return;
  }
  const bool own = is_own(stamp);
  look_for_contradiction(bench, stamp, own);
  // The first of our own after a start is what we gave before; a later one that we did not give is
  // somebody else's, in our name.
  const auto ours = own_.find(bench);
  if (ours == own_.end() ? !own : ours->second < stamp.number)
    highest_seen_.saw(bench, stamp.number);
  if (own) {
    auto& highest = own_.try_emplace(bench, stamp.number).first->second;
    highest = std::max(highest, stamp.number);
  }
  const auto [known, fresh] = newest_.try_emplace(bench, Seen{stamp, own});
  if (!fresh && known->second.stamp.number <= stamp.number) known->second = {stamp, own};
  if (!is_elder(stamp)) return;
  auto& longest = elder_.try_emplace(bench, stamp).first->second;
  if (longest.valid_until < stamp.valid_until) longest = stamp;
}

void OrderBook::look_for_contradiction(const std::string& bench, const OrderStamp& stamp,
                                       bool own) {
  const Order* last = given(bench);
  if (!contradicts(last, stamp)) return;
  const auto& number = last->number;
  // Our own earlier order has come back to us; one newer than ours is somebody else's.
  if (own && stamp.number < number) {
    const auto newest = newest_.find(bench);
    if (newest == newest_.end() || newest->second.stamp.number < number) return;
  }
  if (own || !yields_to(bench, stamp)) contradicted_.insert_or_assign(bench, stamp);
}

void OrderBook::elders_heard(std::optional<std::set<std::string>> instances) {
  if (elders_heard_ == instances) return;
  elders_heard_ = std::move(instances);
  // Plain water that waited for an order of a daemon that is gone, or that such an order replaced
  // at the broker, whether it has expired or not.
  for (const auto& [bench, stamp] : elder_) {
    const Order* last = given(bench);
    if (contradicts(last, stamp) && !yields_to(bench, stamp))
      contradicted_.insert_or_assign(bench, stamp);
  }
}

bool OrderBook::yields_to(const std::string& bench, const OrderStamp& stamp) const {
  return is_elder(stamp) && !is_overruled(bench, stamp.number) &&
         (!elders_heard_ || elders_heard_->contains(stamp.instance));
}

bool OrderBook::is_beyond_reason(const OrderNumber& number, Instant now) const {
  return number.epoch >= epoch_ && number.sequence > to_seconds(now + kReason);
}

bool OrderBook::is_endless(const OrderStamp& elders, Instant now) {
  return elders.valid_until > now + kLongestValid + kReason;
}

bool OrderBook::is_new_fault_of_elder(const std::string& bench, const OrderStamp& elders,
                                      Instant now) const {
  return is_endless(elders, now) || (elders.number.sequence > to_seconds(now + kReason) &&
                                     !is_overruled(bench, elders.number));
}

bool OrderBook::is_overruled(const std::string& bench, const OrderNumber& number) const {
  const auto found = overruled_.find(bench);
  return found != overruled_.end() && found->second == number;
}

bool OrderBook::is_higher_epoch_to_follow(const Seen& seen, Instant now) const {
  const auto& stamp = seen.stamp;
  if (stamp.number.epoch <= epoch_) return false;
  const bool lineage = !store_.lineage.empty() && stamp.store.lineage == store_.lineage;
  return seen.own || lineage || stamp.valid_until < now;
}

bool OrderBook::needs_judging(Instant now) const {
  return !refused_.empty() || !contradicted_.empty() ||
         std::ranges::any_of(newest_,
                             [&](const auto& entry) {
                               return is_beyond_reason(entry.second.stamp.number, now) ||
                                      is_higher_epoch_to_follow(entry.second, now);
                             }) ||
         std::ranges::any_of(elder_, [&](const auto& entry) {
           return is_new_fault_of_elder(entry.first, entry.second, now);
         });
}

std::vector<OrderBook::Overruled> OrderBook::judge(Instant now) {
  std::vector<Overruled> found;
  std::set<std::string> due;
  std::int64_t epoch = epoch_;
  for (const auto& [bench, stamp] : refused_) found.push_back({bench, stamp});
  refused_.clear();
  for (auto at = newest_.begin(); at != newest_.end();) {
    const auto& [bench, seen] = *at;
    const auto& number = seen.stamp.number;
    const bool beyond = is_beyond_reason(number, now);
    const bool helpless = beyond && number.epoch == kMostEpoch;
    if (beyond) found.push_back({bench, seen.stamp, !helpless});
    if (beyond || is_higher_epoch_to_follow(seen, now)) {
      // What a store of our lineage gave is ours too, as long as it is valid.
      if (beyond || seen.own || seen.stamp.valid_until < now) due.insert(bench);
      epoch = std::max(epoch, std::min(number.epoch + (beyond ? 1 : 0), kMostEpoch));
    }
    at = helpless ? newest_.erase(at) : std::next(at);
  }
  for (auto at = elder_.begin(); at != elder_.end();) {
    const auto& [bench, stamp] = *at;
    const auto same = [&](const Overruled& other) { return other.bench == bench; };
    if (is_new_fault_of_elder(bench, stamp, now)) {
      if (std::ranges::none_of(found, same)) found.push_back({bench, stamp});
      // It no longer keeps our plain water back, but it keeps feed back as long as a valid order
      // may.
      overruled_.insert_or_assign(bench, stamp.number);
    }
    at = is_endless(stamp, now) ? elder_.erase(at) : std::next(at);
  }
  for (const auto& overruled : found) due.insert(overruled.bench);
  for (auto& answered : insist())
    if (!due.contains(answered.bench)) found.push_back(std::move(answered));
  for (const auto& bench : due) given_.erase(bench);
  epoch_ = epoch;
  return found;
}

std::vector<OrderBook::Overruled> OrderBook::insist() {
  std::vector<Overruled> found;
  for (const auto& [bench, stamp] : contradicted_) {
    found.push_back({bench, stamp, true, true});
    given_.erase(bench);
  }
  contradicted_.clear();
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
  if (const auto remembered = remembered_by_pump(content, due)) last = std::max(last, remembered);
  if (!last || *last < by_time) return by_time;
  // A stranger may publish any number in our name.
  constexpr auto kLast = std::numeric_limits<std::int64_t>::max();
  return {last->epoch, std::min(last->sequence, kLast - 1) + 1};
}

std::optional<OrderNumber> OrderBook::remembered_by_pump(const OrderContent& content,
                                                         Instant due) const {
  const std::string& bench = content.bench;
  auto highest = highest_seen_.of(bench);
  if (const auto found = newest_.find(bench); found != newest_.end()) {
    const auto& stamp = found->second.stamp;
    const bool overruled = stamp.feeds && !content.stock_open() && !yields_to(bench, stamp);
    if (overruled || stamp.valid_until < due) {
      highest = std::max(highest, std::optional(stamp.number));
    } else if (!found->second.own && highest && *highest <= stamp.number) {
      return std::nullopt;  // it binds us
    }
  }
  const bool within_reason = highest && highest->sequence <= to_seconds(due + kReason);
  return within_reason ? highest : std::nullopt;
}

Order OrderBook::order(OrderContent content, Instant due) {
  Order order;
  order.number = number(content, due);
  order.issued = due;
  order.valid_until = due + seconds(settings_->feeding.order_valid_s);
  order.instance = settings_->broker.instance;
  order.history_since = history_since_;
  order.store = store_;
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
  if (history_since_) history_since_ = std::min(*history_since_, to);
}

const Order* OrderBook::given(const std::string& bench) const {
  const auto found = given_.find(bench);
  return found == given_.end() ? nullptr : &found->second;
}

bool OrderBook::outdated(const Order& order) const {
  const auto elder = elder_.find(order.content.bench);
  if (elder != elder_.end() && order.issued <= elder->second.valid_until &&
      (order.content.stock_open() || yields_to(elder->first, elder->second)))
    return true;
  const auto found = newest_.find(order.content.bench);
  return found != newest_.end() && !found->second.own &&
         order.number < found->second.stamp.number &&
         order.issued <= found->second.stamp.valid_until;
}

}  // namespace plainwater::orders
