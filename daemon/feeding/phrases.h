// What a grower is to read about feeding, and the figures behind it. Instants here are what the
// site's clocks show.
#pragma once

#include "feeding/decision.h"
#include "feeding/hold.h"
#include "words/sentence.h"

namespace plainwater::feeding::phrases {

using words::Sentence;

Evidence drop_evidence(const season::Drop& drop);
Evidence proof_evidence(const HoldEvent& event, const DropRules& rules);

Sentence placed(const season::Drop& drop, const HoldView& hold, const DropRules& rules);
Sentence extended(const season::Drop& drop, const HoldView& hold);
Sentence confirmed(const HoldEvent& event, const HoldView& hold);
Sentence withdrawn(const HoldEvent& event, double days);
Sentence event_withdrawn(const HoldEvent& event, const HoldView& hold, Instant now);
Sentence ended(double days, int percent, bool capped);
/// The hold is over, but not the plain water.
Sentence ended_in_plain_water(double days, Cause cause);
Sentence announced(const std::string& who, Instant until);
Sentence holding(const HoldView& hold, const DropRules& rules, const MoveRules& moves);
Sentence drop_let_pass(const season::Drop& drop, const Sentence& why);
Evidence move_evidence(Instant moved, const season::ClimateChange& change, double needed_c);
/// "carried outdoors", to follow "the bench was"
Sentence carried(Cause cause);
/// "nights from 17.2 to 9.1 °C, days from 21.0 to 14.5 °C"
Sentence change(const season::ClimateChange& change);

Sentence chilled(double air_c, double floor_c, Instant until);
Sentence night_blind(double coverage, bool suspect, int nights);
/// Why it is fed so, to follow a colon.
Sentence reason(Cause cause);
Sentence feeding_changed(Feeding feeding, int percent, Cause cause);

}  // namespace plainwater::feeding::phrases
