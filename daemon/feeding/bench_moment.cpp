#include "feeding/bench_moment.h"

#include "feeding/phrases.h"

namespace plainwater::feeding {

Decision& BenchMoment::place_or_extend(HoldEvent event) {
  const Cause cause = event.cause;
  return tell(holds().place_or_extend(std::move(event), t(), allowance.season.feed()), cause);
}

Decision* BenchMoment::take_asked(HoldEvent event) {
  if (!hold()) return &place_or_extend(std::move(event));
  const Cause cause = event.cause;
  const bool longest = event.until >= hold()->planned_end(drops());
  if (!holds().current().take_asked(std::move(event), t())) return nullptr;
  return &tell(longest ? DecisionKind::hold_extended : DecisionKind::notice, cause);
}

void BenchMoment::undo_hold() {
  count_detected();
  allowance.season.restore(hold()->before);
  holds().clear();
}

void BenchMoment::count_detected() {
  if (hold()->detected_since() != kNever) limits.add_spell(hold()->detected_since(), t());
}

void BenchMoment::get_used() {
  if (hold()->capped(drops())) {
    // The cap ended the hold before the plants got used to its newest fall: a severe one may still
    // be answered.
    season.drop.unanswered();
  } else {
    season.acclimation.settle();
    season.drop.settled();
  }
}

void BenchMoment::end_longest() {
  if (hold()->asked_leads(drops()))
    holds().current() = hold()->without_longest(drops());
  else
    end_detected();
}

void BenchMoment::end_detected() {
  count_detected();
  get_used();
  holds().current().forget_detected();
}

void BenchMoment::withdraw_detected() {
  count_detected();
  holds().current().forget_detected();
}

void BenchMoment::end_hold() {
  count_detected();
  get_used();
  allowance.season.after_hold(t(), rules());
  holds().clear();
}

void BenchMoment::end_hold_by_time() {
  const Hold ended = *hold();
  const bool capped = ended.capped(drops());
  Decision& d = tell(DecisionKind::hold_ended, capped ? Cause::cap : ended.cause);
  const double days = days_of(t() - ended.placed);
  d.evidence.number("plain_water_days", days, 1)
      .count("events", static_cast<std::int64_t>(ended.events.size()));
  if (season.acclimation.acclimated_c())
    d.evidence.number("acclimated_c", *season.acclimation.acclimated_c(), 2);
  end_hold();
  const Share after = share();
  const bool plain_water = after.feeding == Feeding::plain_water;
  d.said = plain_water
               ? phrases::ended_in_plain_water(days, phrases::reason(after.cause, allowance.season))
               : phrases::ended(days, allowance.season.percent(), capped);
  if (!capped) return;
  const Instant rested = t() + from_days(drops().rest_after_cap_days);
  limits.rest_until(rested);
  ask(Cause::cap,
      words::say("ask.longest-hold",
                 {{"days", words::number(drops().longest_plain_water_days, 0)}}) +
          (plain_water ? words::say("ask.longest-hold-plain-water", {{"day", day(rested)}})
                       : words::say("ask.longest-hold-weak-feed", {{"day", day(rested)}})) +
          words::say("ask.longest-hold-please"));
}

}  // namespace plainwater::feeding
