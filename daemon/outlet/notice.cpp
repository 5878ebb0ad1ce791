#include "outlet/notice.h"

namespace plainwater::outlet {

const char* name_of(Urgency urgency) {
  static constexpr const char* kNames[] = {"urgent", "soon", "info"};
  return kNames[static_cast<std::size_t>(urgency)];
}

std::optional<Urgency> urgency_of(const feeding::Decision& decision) {
  using feeding::Cause;
  using feeding::DecisionKind;
  // A chill is told when it begins; that the bench is still chilled a week later is for the ledger.
  if (decision.cause == Cause::chill) return decision.kind == DecisionKind::feeding_changed ? std::optional(Urgency::urgent) : std::nullopt;
  if (decision.kind != DecisionKind::notice) return std::nullopt;
  switch (decision.cause) {
    case Cause::fed_in_plain_water:
    case Cause::over_strength:
    case Cause::daily_cap:
    case Cause::pump_untrusted: return Urgency::urgent;
    case Cause::fed_against_advice: return decision.feeding == feeding::Feeding::plain_water ? Urgency::urgent : Urgency::soon;
    case Cause::clock:
    case Cause::fed_by_hand:
    case Cause::pump_clock:
    case Cause::under_strength:
    case Cause::pump_silent:
    case Cause::no_watering:
    case Cause::shared_pump:
    case Cause::salts_up:
    case Cause::recipe_changed: return Urgency::soon;
    case Cause::pump_trusted:
    case Cause::pump_reports: return Urgency::info;
    default: return std::nullopt;
  }
}

std::string notice_line(const feeding::Decision& decision) { return decision.bench.empty() ? decision.text : decision.bench + ": " + decision.text; }

}  // namespace plainwater::outlet
