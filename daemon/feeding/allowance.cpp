#include "feeding/allowance.h"

#include <algorithm>

namespace plainwater::feeding {

void Allowance::end_chill(Instant t) {
  if (chill.begun() != kNever) season.wait_since(chill.begun(), t);
  chill.end();
}

Share Allowance::share(Instant t, const FeedingRules& rules) const {
  if (!begun) return {Feeding::plain_water, 0, Cause::learning};
  if (forbidden) return {Feeding::plain_water, 0, Cause::pump_untrusted};
  if (timeless) return {Feeding::plain_water, 0, Cause::clock};
  if (chill.active()) return {Feeding::plain_water, 0, Cause::chill};
  if (!season.heard() && (season.known_nights() == 0 || !blindness.too_long(rules)))
    return {Feeding::plain_water, 0, Cause::not_heard};
  if (blindness.stops(rules)) return {Feeding::plain_water, 0, Cause::blind};
  if (holds.in_force()) return {Feeding::plain_water, 0, holds.hold()->cause};
  if (blindness.weakens(rules))
    return {Feeding::reduced, std::min(season.percent(), rules.weakest_percent), Cause::blind};
  return {season.percent() >= 100 ? Feeding::full : Feeding::reduced, season.percent(),
          season.cause(t)};
}

void Allowance::join(const Allowance& other) {
  begun = begun && other.begun;
  forbidden = forbidden || other.forbidden;
  holds.join(other.holds, season.feed(), other.season.feed());
  season.join(other.season);
  chill.join(other.chill);
  blindness.join(other.blindness);
}

}  // namespace plainwater::feeding
