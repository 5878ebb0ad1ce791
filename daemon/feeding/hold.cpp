#include "feeding/hold.h"

#include <algorithm>
#include <cmath>
#include <span>

#include "common/json_text.h"
#include "common/statistics.h"

namespace plainwater::feeding {
namespace {
constexpr std::size_t kPeakNights = 7, kStillColdNights = 3;
constexpr double kLeastDepth_c = 3.5, kSettled_c = 0.5;
}  // namespace

HoldEvent HoldEvent::of(const season::Drop& drop, Instant placed) {
  HoldEvent e;
  e.placed = placed;
  e.base_c = drop.base_c;
  e.noise_c = drop.noise_c;
  e.before_c = drop.before_c;
  e.landing_c = drop.landing_c;
  e.acclimated_c = drop.acclimated_c;
  e.deficit_c = e.peak_c = drop.deficit_c;
  e.by_nights = true;
  return e;
}

HoldEvent HoldEvent::of_move(Cause cause, Instant moved, Instant placed) {
  HoldEvent e;
  e.cause = cause;
  e.placed = placed;
  e.moved = moved;
  return e;
}

HoldEvent HoldEvent::of_grower(Instant placed, Instant until, Cause cause, std::string who,
                               std::string id) {
  HoldEvent e;
  e.cause = cause;
  e.proof = Proof::confirmed;
  e.placed = placed;
  e.until = until;
  e.who = std::move(who);
  e.id = std::move(id);
  return e;
}

double HoldEvent::lasting_c() const {
  const std::size_t skipped = nights_c.size() / 3;
  return base_c - median(std::span(nights_c).subspan(skipped));
}

double HoldEvent::needed_c(const DropRules& rules) const {
  return rules.confirm_share * std::max(base_c - landing_c, kLeastDepth_c);
}

bool HoldEvent::take_night(double mean_c, double mean_deficit_c, bool may_withdraw,
                           const DropRules& rules) {
  if (!by_nights || proof == Proof::withdrawn) return false;
  if (nights_c.size() < kPeakNights) peak_c = rounded(std::max(peak_c, mean_deficit_c));
  if (proof == Proof::confirmed) return false;
  nights_c.push_back(mean_c);
  const auto counted = static_cast<int>(nights_c.size());
  if (counted < rules.decide_night) return false;
  if (lasting_c() >= needed_c(rules)) {
    proof = Proof::confirmed;
    return true;
  }
  const double recent = base_c - mean(std::span(nights_c).last(kStillColdNights));
  if ((recent >= needed_c(rules) && counted < rules.latest_decide_night) || !may_withdraw)
    return false;
  proof = Proof::withdrawn;
  return true;
}

double HoldEvent::length_days(const DropRules& rules) const {
  if (during_hold) return rules.shortest_days;
  const double by_depth =
      rules.acclimation_days * std::log(std::max(peak_c, kSettled_c) / kSettled_c);
  return rounded(std::clamp(by_depth, rules.shortest_days, rules.longest_days), 3);
}

Instant HoldEvent::planned_end(const DropRules& rules) const {
  return detected() ? placed + from_days(length_days(rules)) : until;
}

bool Hold::stands() const {
  return std::any_of(events.begin(), events.end(), [](const HoldEvent& e) { return e.stands(); });
}

const HoldEvent* Hold::detected() const {
  const auto found = std::find_if(events.begin(), events.end(),
                                  [](const HoldEvent& e) { return e.detected() && e.stands(); });
  return found == events.end() ? nullptr : &*found;
}

bool Hold::has_detected() const { return detected() != nullptr; }

Instant Hold::detected_since() const {
  const auto first =
      std::find_if(events.begin(), events.end(), [](const HoldEvent& e) { return e.detected(); });
  return first == events.end() ? kNever : first->placed;
}

Instant Hold::cap(const DropRules& rules) const {
  const HoldEvent* first = detected();
  return (first == nullptr ? placed : first->placed) + from_days(rules.longest_plain_water_days);
}

Instant Hold::earliest_end(const DropRules& rules) const {
  Instant end = placed;
  for (const HoldEvent& e : events)
    if (e.stands())
      end = std::max(end, e.detected()
                              ? std::min(e.placed + from_days(rules.shortest_days), cap(rules))
                              : e.until);
  return end;
}

Instant Hold::detected_end(const DropRules& rules) const {
  Instant end = kNever, earliest = kNever;
  for (const HoldEvent& e : events) {
    if (!e.stands() || !e.detected()) continue;
    end = std::max(end, std::min(e.planned_end(rules), cap(rules)));
    earliest = std::max(earliest, std::min(e.placed + from_days(rules.shortest_days), cap(rules)));
  }
  return relieved == kNever ? end : std::min(end, std::max(relieved, earliest));
}

Instant Hold::planned_end(const DropRules& rules) const {
  return std::max({placed, detected_end(rules), asked_until()});
}

Instant Hold::latest_end(const DropRules& rules) const {
  Instant end = placed;
  for (const HoldEvent& e : events)
    if (e.stands())
      end = std::max(end, e.detected()
                              ? std::min(e.placed + from_days(rules.longest_days), cap(rules))
                              : e.until);
  return end;
}

bool Hold::capped(const DropRules& rules) const {
  return !asked_leads(rules) && std::any_of(events.begin(), events.end(), [&](const HoldEvent& e) {
    return e.stands() && e.detected() && e.planned_end(rules) > cap(rules);
  });
}

HoldView Hold::view(const DropRules& rules) const {
  HoldView v;
  v.id = id;
  v.cause = longest(rules);
  v.placed = placed;
  v.earliest_end = earliest_end(rules);
  v.planned_end = planned_end(rules);
  v.latest_end = latest_end(rules);
  const HoldEvent* first = detected();
  v.judged_from = first == nullptr ? placed : first->placed;
  v.provisional =
      !asked_leads(rules) && std::none_of(events.begin(), events.end(), [](const HoldEvent& e) {
        return e.detected() && e.proof == Proof::confirmed;
      });
  return v;
}

void SeasonFeed::join(const SeasonFeed& other) {
  if (full && !other.full) reduced_by = other.reduced_by;
  full = full && other.full;
  percent = std::min(percent, other.percent);
  raised = std::max(raised, other.raised);
  gentle_until = std::max(gentle_until, other.gentle_until);
  moved_until = std::max(moved_until, other.moved_until);
}

}  // namespace plainwater::feeding
