#include "feeding/teller.h"

namespace plainwater::feeding {

Decision& Teller::tell(DecisionKind kind, Cause cause) const {
  Decision d;
  d.time = t_;
  d.bench = bench_.name;
  d.kind = kind;
  d.cause = cause;
  if (holds_.hold()) d.hold = holds_.hold()->view(drops());
  return out_.emplace_back(std::move(d));
}

words::Value Teller::end_of(const Hold& hold) const {
  const words::Value end = day(hold.planned_end(drops()));
  return hold.asked_leads(drops()) ? end : words::say("hold.about", {{"day", end}});
}

}  // namespace plainwater::feeding
