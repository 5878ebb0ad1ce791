// Holds that people asked for, beside each other and beside what was detected.
#include <algorithm>
#include <utility>

#include "feeding/hold.h"

namespace plainwater::feeding {

const HoldEvent* Hold::asked() const {
  const HoldEvent* longest = nullptr;
  for (const HoldEvent& e : events)
    if (!e.detected() && (longest == nullptr || e.until > longest->until)) longest = &e;
  return longest;
}

Instant Hold::asked_until() const {
  const HoldEvent* longest = asked();
  return longest == nullptr ? kNever : longest->until;
}

bool Hold::asked_leads(const DropRules& rules) const {
  return asked() != nullptr && asked_until() >= detected_end(rules);
}

Cause Hold::longest(const DropRules& rules) const {
  if (asked_leads(rules)) return asked()->cause;
  const HoldEvent* first = detected();
  return first == nullptr ? cause : first->cause;
}

void Hold::settle(const DropRules& rules) { cause = longest(rules); }

bool Hold::take_asked(HoldEvent event, Instant t) {
  const bool first = asked() == nullptr;
  const auto same = std::find_if(events.begin(), events.end(), [&](const HoldEvent& e) {
    return !e.detected() && e.until == event.until && (e.id.empty() || e.id == event.id);
  });
  const auto kept =
      std::count_if(events.begin(), events.end(), [](const HoldEvent& e) { return !e.detected(); });
  if (same != events.end()) {
    events.erase(same);
  } else if (static_cast<std::size_t>(kept) >= kMostAsked) {
    auto outlasted = events.end();
    for (auto e = events.begin(); e != events.end(); ++e)
      if (!e->detected() && e->until <= event.until &&
          (outlasted == events.end() || e->until > outlasted->until))
        outlasted = e;
    if (outlasted == events.end()) return false;
    events.erase(outlasted);
  }
  events.push_back(std::move(event));
  if (first) asked_at = t;
  return true;
}

void Hold::extend(Instant until, const std::string& who, const std::string& request, Instant t,
                  const DropRules& rules) {
  if (!asked_leads(rules)) {
    take_asked(HoldEvent::of_grower(t, until, Cause::grower, who, request), t);
    return;
  }
  const Instant former = asked_until();
  for (HoldEvent& e : events) {
    if (e.detected() || e.until != former) continue;
    e.extended = request;
    e.former_who = e.who;
    e.former_until = e.until;
    e.until = until;
    e.who = who;
  }
}

Hold Hold::without_longest(const DropRules& rules) const {
  Hold rest = *this;
  const bool by_asking = asked_leads(rules);
  const Instant end = asked_until();
  if (by_asking)
    std::erase_if(rest.events, [&](const HoldEvent& e) { return !e.detected() && e.until == end; });
  else
    rest.forget_detected();
  rest.settle(rules);
  return rest;
}

std::optional<Hold> Hold::without(std::string_view request, const DropRules& rules) const {
  if (request.empty()) return std::nullopt;
  Hold rest = *this;
  bool found = false;
  for (auto e = rest.events.begin(); e != rest.events.end();) {
    if (e->id == request && e->extended.empty()) {
      e = rest.events.erase(e);
      found = true;
      continue;
    }
    if (e->id == request) {  // what another person made of it stays, under that request's id
      e->id = std::exchange(e->extended, {});
      e->former_who.clear();
      e->former_until = kNever;
      found = true;
    } else if (e->extended == request) {
      e->until = e->former_until;
      e->who = e->former_who;
      e->extended.clear();
      found = true;
    }
    ++e;
  }
  if (!found) return std::nullopt;
  rest.settle(rules);
  return rest;
}

void Hold::forget_detected() {
  std::erase_if(events, [](const HoldEvent& e) { return e.detected(); });
  relieved = kNever;
}

}  // namespace plainwater::feeding
