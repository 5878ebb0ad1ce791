#include "feeding/hold_limits.h"

#include <algorithm>

namespace plainwater::feeding {

bool HoldLimits::may_hold(const Bench& bench, Instant t, double fall_c,
                          const DropRules& rules) const {
  const bool resting = t < rest_until_ && fall_c < rules.severe_fall_c;
  return !resting && !exempt(bench, t);
}

void HoldLimits::forget_spells(Instant t) {
  std::erase_if(spells_, [&](const PlainSpell& s) { return s.to < t - 365 * kDay; });
}

double HoldLimits::plain_days_in_year(Instant t, const HoldKeeper& holds) const {
  const Instant year_ago = t - 365 * kDay;
  double days = 0;
  for (const PlainSpell& s : spells_)
    days += days_of(std::max(Span(0), s.to - std::max(s.from, year_ago)));
  if (const auto& hold = holds.hold(); hold && hold->has_detected())
    days += days_of(t - std::max(hold->detected_since(), year_ago));
  return days;
}

}  // namespace plainwater::feeding
