#include "feeding/chill.h"

#include "feeding/words.h"

namespace plainwater::feeding {
namespace {
constexpr Span kChillToldAgain = 7 * kDay;  // a winter under the floor is told of once a week
}

void Chill::take(double air_c, bool releasing, const Teller& to) {
  const Instant t = to.t();
  const bool fresh = !active(t, releasing);
  until_ = t + from_days(to.drops().chill_days);
  if (!fresh && t - told_ < kChillToldAgain) return;
  told_ = t;
  const double floor_c = chill_floor_c(to.bench());
  Decision& d = to.tell(fresh ? DecisionKind::feeding_changed : DecisionKind::notice, Cause::chill);
  d.evidence.number("air_c", air_c, 1).number("chill_floor_c", floor_c, 1).time("until", until_);
  d.text = words::chilled(air_c, floor_c, to.local(until_));
}

}  // namespace plainwater::feeding
