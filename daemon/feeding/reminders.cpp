#include "feeding/reminders.h"

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
  m.ask(Cause::yearly_budget, words::say("ask.yearly-budget", {{"days", words::number(days, 0)},
                                                               {"most", words::number(most, 0)}}) +
                                  words::say("ask.yearly-budget-please"));
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
        words::say("ask.growth") +
            words::say("ask.growth-please",
                       {{"command", words::name("plainwater growth-started " + m.bench().name)}}));
}

}  // namespace plainwater::feeding
