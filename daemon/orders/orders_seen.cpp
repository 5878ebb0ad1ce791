#include "orders/orders_seen.h"

#include <algorithm>

namespace plainwater::orders {
namespace {

/// It would feed a bench that we give plain water.
bool contradicts(const Order* ours, const OrderStamp& stamp) {
  return stamp.feeds && ours != nullptr && !ours->content.stock_open();
}

}  // namespace

bool Self::gave(const OrderStamp& stamp) const {
  if (stamp.instance != instance) return false;
  // An older program did not name its store: go by its age.
  return stamp.store.id.empty() ? stamp.history_since == history_since : stamp.store.id == store.id;
}

void Self::sign(Order& order) const {
  order.instance = instance;
  order.history_since = history_since;
  order.store = store;
}

bool OrdersSeen::is_elder(const OrderStamp& stamp) const {
  return stamp.history_since && self_.history_since &&
         *stamp.history_since < *self_.history_since && stamp.instance != self_.instance;
}

bool OrdersSeen::take(const std::string& bench, const OrderStamp& stamp, const Order* last,
                      std::optional<OrderNumber> ours) {
  if (!stamp.number.is_possible()) {
    refused_.insert_or_assign(bench, stamp);
    return false;
  }
  const bool own = self_.gave(stamp);
  look_for_contradiction(bench, stamp, own, last);
  // The first of our own after a start is what we gave before; a later one that we did not give is
  // somebody else's, in our name.
  if (ours ? *ours < stamp.number : !own) highest_.saw(bench, stamp.number);
  const auto [known, fresh] = newest_.try_emplace(bench, Seen{stamp, own});
  if (!fresh && known->second.stamp.number <= stamp.number) known->second = {stamp, own};
  if (is_elder(stamp)) {
    auto& longest = elder_.try_emplace(bench, stamp).first->second;
    if (longest.valid_until < stamp.valid_until) longest = stamp;
  }
  return own;
}

void OrdersSeen::look_for_contradiction(const std::string& bench, const OrderStamp& stamp, bool own,
                                        const Order* last) {
  if (!contradicts(last, stamp)) return;
  const auto& number = last->number;
  // Our own earlier order has come back to us; one newer than ours is somebody else's.
  if (own && stamp.number < number) {
    const auto newest = newest_.find(bench);
    if (newest == newest_.end() || newest->second.stamp.number < number) return;
  }
  if (own || !yields_to(bench, stamp)) contradicted_.insert_or_assign(bench, stamp);
}

void OrdersSeen::elders_heard(std::optional<std::set<std::string>> instances,
                              const GivenOrders& given) {
  if (elders_heard_ == instances) return;
  elders_heard_ = std::move(instances);
  // Plain water that waited for an order of a daemon that is gone, or that such an order replaced
  // at the broker, whether it has expired or not.
  for (const auto& [bench, stamp] : elder_) {
    const auto last = given.find(bench);
    if (last != given.end() && contradicts(&last->second, stamp) && !yields_to(bench, stamp))
      contradicted_.insert_or_assign(bench, stamp);
  }
}

bool OrdersSeen::yields_to(const std::string& bench, const OrderStamp& stamp) const {
  return is_elder(stamp) && !is_overruled(bench, stamp.number) &&
         (!elders_heard_ || elders_heard_->contains(stamp.instance));
}

bool OrdersSeen::is_beyond_reason(const OrderNumber& number, Instant now, std::int64_t epoch) {
  return number.epoch >= epoch && number.sequence > to_seconds(now + kReason);
}

bool OrdersSeen::is_remembered_beyond_reason(const OrderNumber& number, Instant now,
                                             std::int64_t epoch) {
  return is_beyond_reason(number, now, epoch) && number.epoch < kMostEpoch;
}

bool OrdersSeen::is_endless(const OrderStamp& elders, Instant now) {
  return elders.valid_until > now + kLongestValid + kReason;
}

bool OrdersSeen::is_new_fault_of_elder(const std::string& bench, const OrderStamp& elders,
                                       Instant now) const {
  return is_endless(elders, now) || (elders.number.sequence > to_seconds(now + kReason) &&
                                     !is_overruled(bench, elders.number));
}

bool OrdersSeen::is_overruled(const std::string& bench, const OrderNumber& number) const {
  const auto found = overruled_.find(bench);
  return found != overruled_.end() && found->second == number;
}

bool OrdersSeen::is_higher_epoch_to_follow(const Seen& seen, Instant now,
                                           std::int64_t epoch) const {
  const auto& stamp = seen.stamp;
  if (stamp.number.epoch <= epoch) return false;
  const bool lineage = !self_.store.lineage.empty() && stamp.store.lineage == self_.store.lineage;
  return seen.own || lineage || stamp.valid_until < now;
}

bool OrdersSeen::needs_judging(Instant now, std::int64_t epoch) const {
  return !refused_.empty() || !contradicted_.empty() ||
         std::ranges::any_of(highest_.all(),
                             [&](const auto& entry) {
                               return is_remembered_beyond_reason(entry.second, now, epoch);
                             }) ||
         std::ranges::any_of(newest_,
                             [&](const auto& entry) {
                               return is_beyond_reason(entry.second.stamp.number, now, epoch) ||
                                      is_higher_epoch_to_follow(entry.second, now, epoch);
                             }) ||
         std::ranges::any_of(elder_, [&](const auto& entry) {
           return is_new_fault_of_elder(entry.first, entry.second, now);
         });
}

OrdersSeen::Verdict OrdersSeen::judge(Instant now, std::int64_t epoch) {
  Verdict verdict{{}, {}, epoch};
  auto& [found, due, next_epoch] = verdict;
  for (const auto& [bench, stamp] : refused_) found.push_back({bench, stamp});
  refused_.clear();
  for (auto at = newest_.begin(); at != newest_.end();) {
    const auto& [bench, seen] = *at;
    const auto& number = seen.stamp.number;
    const bool beyond = is_beyond_reason(number, now, epoch);
    const bool helpless = beyond && number.epoch == kMostEpoch;
    if (beyond) found.push_back({bench, seen.stamp, !helpless});
    if (beyond || is_higher_epoch_to_follow(seen, now, epoch)) {
      // What a store of our lineage gave is ours too, as long as it is valid.
      if (beyond || seen.own || seen.stamp.valid_until < now) due.insert(bench);
      next_epoch = std::max(next_epoch, std::min(number.epoch + (beyond ? 1 : 0), kMostEpoch));
    }
    at = helpless ? newest_.erase(at) : std::next(at);
  }
  // One may have come just before a stop, and be gone from the broker: pumps remember it.
  for (const auto& [bench, number] : highest_.all())
    if (is_remembered_beyond_reason(number, now, epoch)) {
      due.insert(bench);
      next_epoch = std::max(next_epoch, number.epoch + 1);
    }
  for (auto at = elder_.begin(); at != elder_.end();) {
    const auto& [bench, stamp] = *at;
    if (is_new_fault_of_elder(bench, stamp, now)) {
      if (!std::ranges::count(found, bench, &Overruled::bench)) found.push_back({bench, stamp});
      // It no longer keeps our plain water back, but it keeps feed back as long as a valid order
      // may.
      overruled_.insert_or_assign(bench, stamp.number);
    }
    at = is_endless(stamp, now) ? elder_.erase(at) : std::next(at);
  }
  for (const auto& overruled : found) due.insert(overruled.bench);
  for (auto& answered : insist())
    if (due.insert(answered.bench).second) found.push_back(std::move(answered));
  return verdict;
}

std::vector<Overruled> OrdersSeen::insist() {
  std::vector<Overruled> found;
  for (const auto& [bench, stamp] : contradicted_) found.push_back({bench, stamp, true, true});
  contradicted_.clear();
  return found;
}

std::optional<OrderNumber> OrdersSeen::remembered_by_pump(const OrderContent& content,
                                                          Instant due) const {
  const std::string& bench = content.bench;
  auto highest = highest_.of(bench);
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

bool OrdersSeen::outdates(const Order& ours) const {
  const auto elder = elder_.find(ours.content.bench);
  if (elder != elder_.end() && ours.issued <= elder->second.valid_until &&
      (ours.content.stock_open() || yields_to(elder->first, elder->second)))
    return true;
  const auto found = newest_.find(ours.content.bench);
  return found != newest_.end() && !found->second.own && ours.number < found->second.stamp.number &&
         ours.issued <= found->second.stamp.valid_until;
}

}  // namespace plainwater::orders
