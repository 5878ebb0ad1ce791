#include "feeding/reminders.h"

#include <fmt/format.h>

namespace plainwater::feeding {
namespace {
constexpr Span kAskAgain = 30 * kDay;
constexpr std::int64_t kSpringNights = 42;
}  // namespace

void Reminders::take_night(const NightFacts& night, BenchMoment& m) {
  ask_of_plain_water(m);
  ask_of_growth(night, m);
}

void Reminders::ask_of_plain_water(BenchMoment& m) {
  m.limits.forget_spells(m.t());
  const double days = m.limits.plain_days_in_year(m.t(), m.holds());
  const double most = m.drops().yearly_plain_water_days;
  const bool asked_lately = budget_asked_ != kNever && m.t() - budget_asked_ < kAskAgain;
  if (days <= most || asked_lately) return;
  budget_asked_ = m.t();
  m.ask(Cause::yearly_budget,
        fmt::format(
            "Detected holds gave this bench {:.0f} days of plain water within a year, more than "
            "{:.0f}. Please decide whether it needs another place, warmer nights or an exemption.",
            days, most));
}

void Reminders::ask_of_growth(const NightFacts& night, BenchMoment& m) {
  if (!night.long_days) {
    long_days_since_ = -1;
    spring_asked_ = false;
  } else if (long_days_since_ < 0) {
    long_days_since_ = night.night;
  }
  const bool late_in_spring = long_days_since_ >= 0 &&
                              night.night - long_days_since_ >= kSpringNights &&
                              night.night - long_days_since_ < kSpringNights + 60;
  const SeasonFeeding& season = m.allowance.season;
  if (!late_in_spring || spring_asked_ || night.season.tropical || m.hold() || season.learning() ||
      season.feed().full || !(night.season.n14_c < night.season.group_night_c))
    return;
  spring_asked_ = true;
  m.ask(Cause::cool_nights,
        "Six weeks into the long days this bench is still on weak feed, because its nights stay "
        "below what its group needs. If growth has started, say so: plainwater growth-started.");
}

}  // namespace plainwater::feeding
