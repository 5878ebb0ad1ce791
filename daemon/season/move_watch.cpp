#include "season/move_watch.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "common/statistics.h"

namespace plainwater::season {
namespace {

constexpr std::size_t kBefore = 7, kKeptLegs = 64;
constexpr Span kShortStay = hours(20);
constexpr Span kNoStay = hours(1);
constexpr Span kSameDay = hours(12);  // two returns this close count as one day
/// Cycles kept: the week before a move, for as long as the move's climate may be asked for.
std::size_t kept_cycles(const MoveRules& rules) {
  return kBefore + 2 +
         static_cast<std::size_t>(std::max({12, rules.judged_nights + 5, rules.settled_days + 2}));
}
/// The time of a move is an estimate: a night or day that began this much before it still counts as
/// after it.
constexpr Span kGrace = hours(2);

double change(double before, double after) {
  return std::isnan(before) || std::isnan(after) ? 0 : after - before;
}

}  // namespace

bool ClimateChange::known() const {
  return !std::isnan(night_before_c - night_after_c) || !std::isnan(day_before_c - day_after_c);
}
double ClimateChange::fall_c() const {
  return std::max(
      {0.0, -change(night_before_c, night_after_c), -change(day_before_c, day_after_c)});
}
double ClimateChange::rise_c() const {
  return std::max({0.0, change(night_before_c, night_after_c), change(day_before_c, day_after_c)});
}

int MoveWatch::excursions(Position home, Instant now, Span within, Instant& first) const {
  int days = 0;
  Instant counted = kNever;
  first = now;
  for (std::size_t i = 1; i < legs_.size(); ++i) {
    const Leg &there = legs_[i - 1], &back = legs_[i];
    const Span away = back.since - there.since;
    if (back.to != home || away == Span(0) || away > kShortStay || now - there.since > within)
      continue;
    first = std::min(first, there.since);
    if (counted != kNever && back.since - counted < kSameDay) continue;
    counted = back.since;
    ++days;
  }
  return days;
}

Carried MoveWatch::take(Position to, Instant since, const MoveRules& rules) {
  // A time given from before the last move undoes it: it was a stay of no length.
  if (!legs_.empty()) since = std::max(since, legs_.back().since);
  if (!legs_.empty() && legs_.back().to != to && since - legs_.back().since < kNoStay) {
    legs_.pop_back();
    return Carried::undone;
  }
  const bool short_stay = !legs_.empty() && since - legs_.back().since <= kShortStay;
  legs_.push_back({to, since});
  if (legs_.size() > kKeptLegs) legs_.erase(legs_.begin());
  if (pattern_ == Pattern::shuttling) return Carried::again;
  if (!short_stay) return Carried::once;
  // A bench that spends its days outdoors comes home in the evening; one that spends its nights
  // indoors, in the morning.
  for (const Position home : {Position::indoors, Position::outdoors}) {
    Instant first{};
    if (excursions(home, since, rules.shuttle_within_days * kDay, first) < rules.shuttle_days)
      continue;
    pattern_ = Pattern::shuttling;
    shuttling_since_ = first;
    return Carried::to_and_fro;
  }
  return Carried::back;
}

bool MoveWatch::close(const Cycle& cycle, bool place_known, const MoveRules& rules) {
  cycles_.push_back(cycle);
  while (cycles_.size() > kept_cycles(rules)) cycles_.erase(cycles_.begin());
  if (pattern_ != Pattern::shuttling || !place_known ||
      cycle.sunrise - last_move() < rules.settled_days * kDay)
    return false;
  pattern_ = Pattern::settled;
  return true;
}

Instant MoveWatch::episode() const {
  return pattern_ == Pattern::shuttling ? shuttling_since_ : last_move();
}

Instant MoveWatch::resting_move(Instant now) const {
  if (legs_.empty()) return kNever;
  const Instant last = legs_.back().since;
  if (pattern_ == Pattern::shuttling) return now - last > kShortStay ? last : kNever;
  const bool way_back = legs_.size() > 1 && last - legs_[legs_.size() - 2].since <= kShortStay;
  return way_back ? kNever : last;
}

ClimateChange MoveWatch::climate_change(Instant from, Instant since) const {
  std::vector<double> night_before, night_after, day_before, day_after;
  for (const Cycle& c : cycles_) {
    if (!std::isnan(c.night_c)) {
      if (c.sunrise <= from + kGrace) night_before.push_back(c.night_c);
      if (c.sunset >= since - kGrace) night_after.push_back(c.night_c);
    }
    if (!std::isnan(c.day_c)) {
      if (c.sunset <= from + kGrace) day_before.push_back(c.day_c);
      if (c.dawn >= since - kGrace) day_after.push_back(c.day_c);
    }
  }
  const auto middle_of_last = [](std::vector<double>& values) {
    if (values.empty()) return std::numeric_limits<double>::quiet_NaN();
    if (values.size() > kBefore)
      values.erase(values.begin(), values.end() - static_cast<std::ptrdiff_t>(kBefore));
    return median(values);
  };
  ClimateChange c;
  c.nights_after = static_cast<int>(night_after.size());
  c.night_before_c = middle_of_last(night_before);
  c.day_before_c = middle_of_last(day_before);
  c.night_after_c = middle_of_last(night_after);
  c.day_after_c = middle_of_last(day_after);
  return c;
}

}  // namespace plainwater::season
