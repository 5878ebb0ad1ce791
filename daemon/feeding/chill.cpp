#include "feeding/chill.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "common/json_text.h"
#include "feeding/phrases.h"

namespace plainwater::feeding {
namespace {

constexpr Span kToldAgain = 7 * kDay;  // so that a winter under the floor is told once a week
constexpr Span kSpellOver = hours(6);  // without cold air; cold after that is a new spell
constexpr double kFrost_c = 0;
constexpr double kTellInMinutes_h = 2;
constexpr double kRounding_c = 1e-9;  // tolerates binary fractions: 7.0 counts as 3 under 10

double hours_of(Span span) { return days_of(span) * 24; }

/// The deeper the cold, the longer the chill.
Span length(double depth_c, const DropRules& rules) {
  const double share = std::min(1.0, depth_c / rules.chill_deepest_c);
  return from_days(rounded(
      rules.chill_shortest_days + (rules.chill_days - rules.chill_shortest_days) * share, 3));
}

}  // namespace

void Chill::count(const ColdStretch& cold, Position place, double floor_c) {
  if (spell_.last == kNever) {
    spell_ = {};
    spell_.begun = cold.from;
    spell_.last_c = cold.before_c;
    spell_.lowest_c = floor_c;
  }
  // Each of a bench's sensors brings its own stretch; do not count the same time twice.
  const bool counted_on = spell_.last != kNever && cold.from <= spell_.last;
  const Instant from = counted_on ? spell_.last : cold.from;
  const double before_c = counted_on ? spell_.last_c : cold.before_c;
  const double more = hours_of(cold.to - from) * (floor_c - (before_c + cold.air_c) / 2);
  spell_.degree_hours = rounded(spell_.degree_hours + more);
  if (place != Position::outdoors)
    spell_.roof_degree_hours = rounded(spell_.roof_degree_hours + more);
  const double air_c = std::max(before_c, cold.air_c);  // two readings bear witness
  spell_.lowest_c = rounded(std::min(spell_.lowest_c, air_c));
  lowest_c_ = rounded(std::min(lowest_c_, air_c));
  spell_.last = cold.to;
  spell_.last_c = rounded(cold.air_c);
}

void Chill::take(const ColdStretch& cold, Position place, bool fed, const Teller& to) {
  if (spell_.last != kNever && cold.to <= spell_.last) return;
  if (spell_.last != kNever && cold.from - spell_.last > kSpellOver) end_spell(fed, to);
  const double floor_c = chill_floor_c(to.bench());
  count(cold, place, floor_c);
  const DropRules& rules = to.drops();
  const double depth_c = floor_c - spell_.lowest_c + kRounding_c;
  if (depth_c >= passed_c(rules)) passed_until_ = kNever;
  if (depth_c < rules.chill_deep_c && spell_.degree_hours < rules.chill_degree_hours) return;
  spell_.answered = true;
  if (to.t() >= passed_until_) answer(cold.air_c, place, fed, to);
}

void Chill::answer(double air_c, Position place, bool fed, const Teller& to) {
  const Instant t = to.t();
  const DropRules& rules = to.drops();
  const double floor_c = chill_floor_c(to.bench());
  const bool fresh = !active();
  const bool outdoors = place == Position::outdoors;
  if (fresh) {
    begun_ = t;
    outdoors_ = outdoors;
    lowest_c_ = spell_.lowest_c;
  }
  // Pots and sensor stay cold for a while after the bench is carried in.
  if (spell_.roof_degree_hours >= std::min(spell_.degree_hours, rules.chill_degree_hours))
    outdoors_ = false;
  until_ = std::max(until_, t + length(floor_c - spell_.lowest_c, rules));
  const bool frost = lowest_c_ <= kFrost_c && told_c_ > kFrost_c;
  const bool deeper = told_c_ - lowest_c_ + kRounding_c >= rules.chill_deep_c;
  if (!fresh && !frost && !deeper && t - told_ < kToldAgain) return;
  Decision& d =
      to.tell(fresh && fed ? DecisionKind::feeding_changed : DecisionKind::notice, Cause::chill);
  d.evidence.number("air_c", air_c, 1)
      .number("lowest_c", lowest_c_, 1)
      .number("chill_floor_c", floor_c, 1)
      .number("degree_hours", spell_.degree_hours, 1)
      .text("place", outdoors ? "outdoors" : "under a roof")
      .time("until", until_);
  d.said = phrases::chilled(lowest_c_, floor_c, to.local(until_), to.local(to.t()), to.holding(),
                            outdoors);
  told_ = t;
  told_c_ = lowest_c_;
  lowest_c_ = floor_c;
}

Instant Chill::spell_due() const {
  return spell_.last == kNever ? kForever : spell_.last + kSpellOver;
}

void Chill::end_spell(bool fed, const Teller& to) {
  const Spell over = spell_;
  spell_ = {};
  const double floor_c = chill_floor_c(to.bench());
  const bool slight = fixed(over.lowest_c, 1) == fixed(floor_c, 1);  // it would read as no dip
  const bool told = dip_told_ != kNever && to.t() - dip_told_ < kToldAgain;
  if (over.answered || !fed || slight || told) return;
  dip_told_ = to.t();
  Decision& d = to.tell(DecisionKind::notice, Cause::dip);
  d.since = over.begun;
  d.evidence.number("lowest_c", over.lowest_c, 1)
      .number("chill_floor_c", floor_c, 1)
      .number("degree_hours", over.degree_hours, 1)
      .number("answered_from", to.drops().chill_degree_hours, 1);
  const double lasted_h = hours_of(over.last - over.begun);
  const words::Value air = words::degrees(over.lowest_c), floor = words::degrees(floor_c, 0);
  d.said = lasted_h < kTellInMinutes_h
               ? words::say("chill.dip", {{"air", air},
                                          {"floor", floor},
                                          {"minutes", words::count(std::llround(lasted_h * 60))}})
               : words::say("chill.dip-hours", {{"air", air},
                                                {"floor", floor},
                                                {"hours", words::count(std::llround(lasted_h))}});
}

void Chill::join(const Chill& other) {
  if (other.active()) {
    told_ = std::max(told_, other.told_);
    told_c_ = active() ? std::min(told_c_, other.told_c_) : other.told_c_;
    lowest_c_ = active() ? std::min(lowest_c_, other.lowest_c_) : other.lowest_c_;
    outdoors_ = other.outdoors_ && (outdoors_ || !active());
    begun_ = active() ? std::min(begun_, other.begun_) : other.begun_;
    until_ = std::max(until_, other.until_);
  }
  passed_until_ = std::min(passed_until_, other.passed_until_);
  if (other.spell_.degree_hours > spell_.degree_hours) spell_ = other.spell_;
}

double Chill::cold_now_c() const {
  return spell_.last == kNever ? std::numeric_limits<double>::quiet_NaN() : spell_.last_c;
}

}  // namespace plainwater::feeding
