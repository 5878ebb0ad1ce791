#include "feeding/share_told.h"

#include "feeding/phrases.h"

namespace plainwater::feeding {

void ShareTold::complete(const Share& now, std::size_t first, const Allowance& by,
                         const Teller& to) {
  const HoldKeeper& holds = by.holds;
  bool said = false;
  for (std::size_t i = first; i < to.told().size(); ++i) {
    Decision& d = to.told()[i];
    if (d.bench != to.bench().name) continue;
    d.feeding = now.feeding;
    d.strength_percent = now.percent;
    if (d.hold && holds.in_force() && d.hold->id == holds.hold()->id)
      d.hold = holds.hold()->view(to.drops());
    if (d.kind == DecisionKind::hold_withdrawn && now.feeding == Feeding::plain_water)
      d.said += words::say("feeding.plain-water-goes-on",
                           {{"why", phrases::reason(now.cause, by.season)}});
    said = said || d.kind == DecisionKind::hold_placed || d.kind == DecisionKind::hold_withdrawn ||
           d.kind == DecisionKind::hold_ended || d.kind == DecisionKind::feeding_changed;
  }
  const bool changed = !told_ || feeding_ != now.feeding || percent_ != now.percent;
  if (changed && !said) {
    Decision& d = to.tell(DecisionKind::feeding_changed, now.cause);
    d.feeding = now.feeding;
    d.strength_percent = now.percent;
    d.evidence.text("from", told_ ? name_of(feeding_) : "unknown")
        .count("from_percent", told_ ? percent_ : 0);
    d.evidence.count("to_percent", now.percent);
    d.said =
        phrases::feeding_changed(now.feeding, now.percent, phrases::reason(now.cause, by.season));
  }
  if (changed) changed_ = to.t();
  feeding_ = now.feeding;
  percent_ = now.percent;
  cause_ = now.cause;
  told_ = true;
}

}  // namespace plainwater::feeding
