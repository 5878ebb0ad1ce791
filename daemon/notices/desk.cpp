#include "notices/desk.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace plainwater::notices {
namespace {

constexpr Span kSettles = minutes(10);  ///< if gone for less, it was never gone
constexpr Span kRemembered = kDay;      ///< after its end
constexpr const char* kDigest = "digest";

std::string address_of(const Settings& settings) {
  std::string address = settings.board.address;
  while (address.ends_with('/')) address.pop_back();
  return address;
}

}  // namespace

Desk::Desk(const Settings& settings)
    : rhythm_(settings),
      site_(settings.site),
      style_{address_of(settings), settings.board.reader()} {}

void Desk::restore(std::vector<Item> items) {
  items_.clear();
  changed_.clear();
  particulars_.clear();
  for (Item& item : items) items_.emplace(item.key, std::move(item));
}

void Desk::put(Item item) {
  changed_[item.key] = true;
  items_.insert_or_assign(item.key, item);
}

Desk::Items::iterator Desk::drop(Items::iterator at) {
  changed_[at->first] = false;
  return items_.erase(at);
}

// `after` and the result are in terms of `when.now`; quiet hours go by the site's clocks.
Instant Desk::due_at(Instant after, Urgency urgency, const When& when) const {
  if (when.site == kNever) return after;
  return after + (rhythm_.heard_at(when.site + (after - when.now), urgency) -
                  (when.site + (after - when.now)));
}

void Desk::take(std::vector<Matter> matters, const When& when) {
  for (Matter& matter : matters) {
    if (matter.lasts) {
      const std::string id = matter.id();
      particulars_[id] = std::move(matter);
      continue;
    }
    Item item;
    const std::string key = fmt::format("{}@{}", matter.id(), to_ms(matter.since));
    item.key = key;
    for (int n = 2; items_.contains(item.key); ++n) item.key = fmt::format("{}#{}", key, n);
    // Mere information waits for the digest, if there is one.
    const bool waits =
        matter.urgency == Urgency::info && rhythm_.has_digest() && when.site != kNever;
    item.due = waits ? kForever : due_at(when.now, matter.urgency, when);
    item.matter = std::move(matter);
    put(std::move(item));
  }
}

void Desk::begin(Matter matter, const When& when) {
  Item item;
  item.key = matter.id();
  item.state = State::open;
  if (matter.since == kNever) matter.since = when.site;
  item.due = due_at(when.now, matter.urgency, when);
  item.matter = std::move(matter);
  expect_heard(item);
  put(std::move(item));
}

void Desk::see(Item& item, Matter matter, const When& when, bool decided_again) {
  const bool rises = item.state == State::open && matter.urgency == Urgency::urgent &&
                     item.matter.urgency != Urgency::urgent;
  matter.since = item.matter.since;
  if (matter.evidence == "{}") matter.evidence = item.matter.evidence;
  if (matter.decision.empty()) matter.decision = item.matter.decision;
  item.matter = std::move(matter);  // the present words; stored when told
  if (item.state == State::over) {
    item.state = State::open;
    item.acknowledged = kNever;
    item.acknowledged_by.clear();
    const Instant turn =
        item.told == 0 ? when.now
                       : std::max(when.now, item.told_at + rhythm_.again(item.matter.urgency, 1));
    item.due = due_at(turn, item.matter.urgency, when);
    expect_heard(item);
    changed_[item.key] = true;
  }
  // For example, a pump that disobeys again, or a chill that gets urgent: whoever acknowledged it
  // does not know of that.
  if ((decided_again || rises) && item.state == State::open &&
      item.matter.urgency == Urgency::urgent) {
    item.acknowledged = kNever;
    item.acknowledged_by.clear();
    item.due = when.now;
    expect_heard(item);
    changed_[item.key] = true;
  }
  if (item.matter.urgency != Urgency::urgent && item.unheard != kNever) {
    item.unheard = kNever;
    changed_[item.key] = true;
  }
  if (item.gone != kNever) changed_[item.key] = true;
  item.gone = kNever;
}

bool Desk::miss(Item& item, const When& when) {
  if (item.gone == kNever) {
    item.gone = when.now;
    changed_[item.key] = true;
  }
  if (item.state == State::over) return item.due == kForever && when.now - item.gone >= kRemembered;
  if (when.now - item.gone < kSettles) return false;
  item.state = State::over;
  item.unheard = kNever;
  // If nobody heard of it, its end is no news; the digest may still list it.
  item.due = item.heard ? due_at(when.now, urgency_of(item), when) : kForever;
  changed_[item.key] = true;
  return false;
}

void Desk::look(std::vector<Matter> lasting, const When& when) {
  std::set<std::string, std::less<>> seen;
  for (Matter& matter : lasting) {
    const std::string id = matter.id();
    if (!seen.insert(id).second) continue;
    const auto known = particulars_.find(id);
    if (known != particulars_.end()) {
      if (matter.since == kNever) matter.since = known->second.since;
      if (!known->second.said.empty()) matter.said = known->second.said;
      matter.evidence = known->second.evidence;
      matter.decision = known->second.decision;
    }
    if (const auto at = items_.find(id);
        at != items_.end() &&
        !(at->second.state == State::over && when.now - at->second.gone >= kRemembered))
      see(at->second, std::move(matter), when, known != particulars_.end());
    else
      begin(std::move(matter), when);
  }
  particulars_.clear();
  for (auto at = items_.begin(); at != items_.end();)
    at = at->second.matter.lasts && !seen.contains(at->first) && miss(at->second, when)
             ? drop(at)
             : std::next(at);
}

void Desk::set_back(Span by) {
  for (auto& [key, item] : items_) {
    for (Instant* time : {&item.matter.since, &item.told_at, &item.due, &item.gone, &item.unheard,
                          &item.acknowledged})
      if (*time != kNever && *time != kForever) *time -= by;
    changed_[key] = true;
  }
}

void Desk::tell(Item& item, const When& when) {
  ++item.told;
  item.told_at = when.now;
  await_hearing(item, when);
  item.due = kForever;
  item.heard = item.state == State::open;
  if (item.state == State::open && item.acknowledged == kNever)
    item.due =
        due_at(when.now + rhythm_.again(item.matter.urgency, item.told), item.matter.urgency, when);
  changed_[item.key] = true;
}

std::optional<Message> Desk::digest(const When& when,
                                    const std::function<std::vector<engine::BenchNow>()>& benches) {
  auto at = items_.find(kDigest);
  if (!rhythm_.has_digest() && at != items_.end()) drop(at);
  if (!rhythm_.has_digest() || when.site == kNever) return std::nullopt;
  if (at == items_.end() ||
      at->second.due > rhythm_.next_digest(when.site)) {  // new, or its hour was changed
    Item item = at == items_.end() ? Item{} : at->second;
    item.key = item.matter.kind = kDigest;
    item.due = rhythm_.next_digest(when.site);
    put(std::move(item));
    return std::nullopt;
  }
  Item& own = at->second;
  if (when.site < own.due) return std::nullopt;
  std::vector<const Item*> open, happened;
  for (const auto& [key, item] : items_) {
    if (key == kDigest) continue;
    if (item.state == State::open) open.push_back(&item);
    if (item.state == State::happened ? item.due == kForever
                                      : item.state == State::over && item.told == 0)
      happened.push_back(&item);
  }
  std::ranges::stable_sort(happened, {}, [](const Item* item) { return item->matter.since; });
  ++own.told;
  own.told_at = own.matter.since = when.site;
  own.due = rhythm_.next_digest(when.site);
  changed_[own.key] = true;
  return notices::digest(benches(), absence_, site_, open, happened, own, when.site, style_);
}

std::vector<Message> Desk::due(const When& when,
                               const std::function<std::vector<engine::BenchNow>()>& benches) {
  std::vector<Message> messages;
  std::map<std::tuple<Urgency, std::string, std::string>, std::vector<const Item*>> alike;
  for (auto& [key, item] : items_) {
    // It was waiting for a digest that is no longer wanted.
    const bool left =
        item.state == State::happened && item.due == kForever && !rhythm_.has_digest();
    // It may be gone: wait until it is seen again or over before telling.
    const bool going = item.state == State::open && item.gone != kNever;
    if (key == kDigest || going || (item.due > when.now && !left)) continue;
    tell(item, when);
    alike[{urgency_of(item), item.matter.kind, state_word(item)}].push_back(&item);
  }
  for (const auto& [what, items] : alike) {
    const std::span<const Item* const> all(items);
    if (items.size() > kTold)
      messages.push_back(message(all, when.site, style_));
    else
      for (std::size_t i = 0; i < items.size(); ++i)
        messages.push_back(message(all.subspan(i, 1), when.site, style_));
  }
  remind(messages, when);
  if (auto made = digest(when, benches)) messages.push_back(std::move(*made));
  return messages;
}

Instant Desk::next_due() const {
  Instant next = kForever;
  for (const auto& [key, item] : items_) {
    const bool going = item.state == State::open && item.gone != kNever;
    next = std::min(next, going ? item.gone + kSettles : item.due);
    if (is_cared_for() && !going && item.unheard != kNever) next = std::min(next, item.unheard);
  }
  return next;
}

std::vector<std::int64_t> Desk::replaced(const Message& message) const {
  std::vector<std::int64_t> effects;
  if (message.reminds) return effects;
  for (const auto& key : message.keys)
    if (const auto at = items_.find(key); at != items_.end())
      effects.insert(effects.end(), at->second.effects.begin(), at->second.effects.end());
  std::ranges::sort(effects);
  effects.erase(std::ranges::unique(effects).begin(), effects.end());
  return effects;
}

void Desk::sent(const Message& message, const std::vector<std::int64_t>& effects) {
  for (const auto& key : message.keys) {
    const auto at = items_.find(key);
    if (at == items_.end()) continue;
    Item& item = at->second;
    const bool gathered = key != kDigest && message.kind == kDigest;
    if (item.state == State::happened && key != kDigest) {
      drop(at);
    } else if (gathered) {
      item.told = 1;  // over, and listed as such
      changed_[key] = true;
    } else {
      // A reminder replaces nothing.
      if (message.reminds) {
        if (message.keys.size() == 1)
          item.effects.insert(item.effects.end(), effects.begin(), effects.end());
        changed_[key] = true;
        continue;
      }
      // A message about several matters must not be struck off when one of them changes.
      item.effects =
          message.keys.size() == 1 || key == kDigest ? effects : std::vector<std::int64_t>{};
      changed_[key] = true;
    }
  }
}

Desk::Changes Desk::changes() {
  Changes changes;
  for (const auto& [key, stays] : changed_) {
    if (stays)
      changes.items.push_back(items_.find(key)->second);
    else
      changes.dropped.push_back(key);
  }
  changed_.clear();
  return changes;
}

}  // namespace plainwater::notices
