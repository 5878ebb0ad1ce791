#include "feeding/season_feeding.h"

#include <algorithm>
#include <cmath>

#include "season/metabolic.h"

namespace plainwater::feeding {
namespace {
constexpr Span kWeek = 7 * kDay;
constexpr Span kGrowthStands = 90 * kDay;
constexpr int kCoolNights = 3;      // one cold median is just weather
constexpr double kStepShare = 0.8;  // share of a step; smaller changes wait

int in_steps(double percent, const FeedingRules& rules) {
  return std::clamp(
      static_cast<int>(std::lround(percent / rules.step_percent)) * rules.step_percent,
      rules.weakest_percent, rules.strongest_reduced_percent);
}
}  // namespace

double reduced_percent(const SeasonFacts& facts, const FeedingRules& rules) {
  const double light = facts.tropical ? 1 : std::min(1.0, facts.light_h / 12);
  const double percent =
      100 * season::relative_metabolic_rate(facts.n14_c, facts.growing_night_c) * light;
  return std::clamp(percent, static_cast<double>(rules.weakest_percent),
                    static_cast<double>(rules.strongest_reduced_percent));
}

void SeasonFeeding::learn(const SeasonFacts& facts, bool dull, Instant t,
                          const FeedingRules& rules) {
  feed_.full = t < growth_until_;  // the grower's word counts while too little is known
  careful_ = facts.learning_gently || dull || facts.known_nights == 0;
  if (feed_.full) {
    target_ = 100;
    return;
  }
  target_ = careful_ ? rules.weakest_percent : in_steps(reduced_percent(facts, rules), rules);
  if (feed_.reduced_by == Cause::none) feed_.reduced_by = Cause::learning;
}

void SeasonFeeding::take_night(const SeasonFacts& facts, Instant t, const FeedingRules& rules) {
  const bool dull = !facts.tropical && facts.light_h < rules.dull_day_h;
  // Unheard, it had plain water until now.
  if (facts.heard && unheard_) after_pause(t, rules);
  unheard_ = !facts.heard;
  known_nights_ = facts.known_nights;
  nights_c_ = facts.n14_c;
  learning_ = facts.learning;
  if (learning_) return learn(facts, dull, t, rules);
  if (facts.counted) {
    const bool warm = facts.n14_c >= facts.group_night_c;
    warm_nights_ = warm ? warm_nights_ + 1 : 0;
    cool_nights_ = warm ? 0 : cool_nights_ + 1;
  }
  const bool bright = facts.tropical || facts.light_h >= rules.bright_day_h;
  const bool grower_says_growth = t < growth_until_;
  if (feed_.full && !grower_says_growth && (dull || cool_nights_ >= kCoolNights)) {
    feed_.full = false;
    feed_.reduced_by = dull ? Cause::dull_season : Cause::cool_nights;
  } else if (!feed_.full && feed_.reduced_by == Cause::learning) {
    feed_.full = !dull && warm_nights_ > 0;  // learning is over: the season decides
    feed_.reduced_by = feed_.full ? Cause::none : dull ? Cause::dull_season : Cause::cool_nights;
  } else if (!feed_.full && bright && warm_nights_ >= rules.warm_nights &&
             t >= feed_.gentle_until) {
    feed_.full = true;
    feed_.reduced_by = Cause::none;
    growth_until_ = kNever;
  } else if (!feed_.full && dull && feed_.reduced_by != Cause::cool_nights) {
    feed_.reduced_by = Cause::dull_season;
  } else if (!feed_.full && feed_.reduced_by == Cause::after_hold && t >= feed_.gentle_until) {
    feed_.reduced_by = bright ? Cause::cool_nights : Cause::dull_season;  // no longer the hold
  } else if (!feed_.full && bright && feed_.reduced_by == Cause::dull_season && warm_nights_ == 0) {
    feed_.reduced_by = Cause::cool_nights;  // light is back, warmth is not
  }
  if (feed_.full) {
    target_ = 100;
  } else if (facts.counted) {
    const double percent = reduced_percent(facts, rules);
    const bool far = std::abs(percent - target_) >= kStepShare * rules.step_percent;
    if (far) target_ = in_steps(percent, rules);
  } else {
    target_ = std::min(target_, rules.strongest_reduced_percent);
  }
}

int SeasonFeeding::wanted(Instant t, const FeedingRules& rules) const {
  int most = target_;
  if (t < feed_.gentle_until) most = std::min(most, rules.after_hold_percent);
  if (t < feed_.moved_until) most = std::min(most, rules.strongest_reduced_percent);
  return most;
}

void SeasonFeeding::proceed(Instant t, const FeedingRules& rules, bool may_rise) {
  const int want = wanted(t, rules);
  if (want < feed_.percent) {
    feed_.percent = want;
  } else if (may_rise && want > feed_.percent &&
             (feed_.raised == kNever || t >= feed_.raised + kWeek)) {
    feed_.percent = std::min(want, feed_.percent + rules.ramp_percent_per_week);
    feed_.raised = t;
  }
}

Instant SeasonFeeding::next_rise(const FeedingRules& rules) const {
  if (target_ <= feed_.percent) return kForever;
  const Instant ramp = feed_.raised == kNever ? kNever : feed_.raised + kWeek;
  // After a restore the strength may be below even the gentle feed; then only the ramp decides.
  Instant rise =
      feed_.percent < rules.after_hold_percent ? ramp : std::max(ramp, feed_.gentle_until);
  if (feed_.percent >= rules.strongest_reduced_percent) rise = std::max(rise, feed_.moved_until);
  return rise;
}

void SeasonFeeding::after_hold(Instant t, const FeedingRules& rules) {
  feed_.full = false;
  feed_.reduced_by = Cause::after_hold;
  feed_.percent = std::min(rules.after_hold_percent, rules.strongest_reduced_percent);
  target_ = std::clamp(target_, rules.weakest_percent, rules.strongest_reduced_percent);
  feed_.raised = t;
  feed_.gentle_until = t + from_days(rules.after_hold_days);
  warm_nights_ = 0;
  growth_until_ = kNever;
}

void SeasonFeeding::after_pause(Instant t, const FeedingRules& rules) {
  feed_.percent = std::min(feed_.percent, rules.after_hold_percent);
  feed_.raised = t;
}

void SeasonFeeding::wait_since(Instant begun, Instant t) {
  if (feed_.raised != kNever) feed_.raised += t - std::max(begun, feed_.raised);
}

void SeasonFeeding::growth_started(Instant t, bool at_once) {
  feed_.full = true;
  feed_.reduced_by = Cause::none;
  feed_.gentle_until = feed_.moved_until = kNever;
  target_ = 100;
  growth_until_ = t + kGrowthStands;
  if (at_once) {
    feed_.percent = 100;
    feed_.raised = t;
  }
}

void SeasonFeeding::join(const SeasonFeeding& other) {
  feed_.join(other.feed_);
  target_ = std::min(target_, other.target_);
  growth_until_ = std::min(growth_until_, other.growth_until_);
  careful_ = careful_ || other.careful_;
  unheard_ = unheard_ || other.unheard_;
}

Cause SeasonFeeding::cause(Instant t) const {
  if (learning_ && growth_until_ == kNever) return Cause::learning;
  if (!feed_.full && feed_.reduced_by == Cause::after_hold) return Cause::after_hold;
  if (t < feed_.moved_until && target_ > feed_.percent) return Cause::after_move;
  if (feed_.percent < target_) return Cause::ramp;
  if (!feed_.full) return feed_.reduced_by;
  return t < growth_until_ ? Cause::growth_started : Cause::bright_season;
}

}  // namespace plainwater::feeding
