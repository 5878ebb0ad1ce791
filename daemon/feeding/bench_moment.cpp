#include "feeding/bench_moment.h"

#include <fmt/format.h>

#include "feeding/words.h"

namespace plainwater::feeding {

Decision& BenchMoment::place_or_extend(HoldEvent event) {
  const Cause cause = event.cause;
  return tell(holds().place_or_extend(std::move(event), t(), allowance.season.feed()), cause);
}

void BenchMoment::undo_hold() {
  limits.add_spell(hold()->placed, t());
  allowance.season.restore(hold()->before);
  holds().clear();
}

void BenchMoment::end_hold() {
  if (hold()->has_detected()) limits.add_spell(hold()->placed, t());
  if (hold()->capped(drops())) {
    // It ends too early for its newest fall: the plants are not used to that, and should it be
    // severe it may yet be answered.
    season.drop.unanswered();
  } else {
    season.acclimation.settle();
    season.drop.settled();
  }
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
  d.text = plain_water ? words::ended_in_plain_water(days, after.cause)
                       : words::ended(days, allowance.season.percent(), capped);
  if (!capped) return;
  const Instant rested = t() + from_days(drops().rest_after_cap_days);
  limits.rest_until(rested);
  ask(Cause::cap,
      fmt::format("A detected hold may last {:.0f} days at most. {}; no new hold is placed before "
                  "{} unless the nights fall severely. Please look at the plants and decide.",
                  drops().longest_plain_water_days,
                  plain_water ? "The hold has ended" : "Weak feed has begun", day(rested)));
}

}  // namespace plainwater::feeding
