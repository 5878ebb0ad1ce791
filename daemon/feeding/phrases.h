// What a grower reads about feeding, and the figures behind it. Instants here are what the site's
// clocks show; `now` is the moment at which the sentence is said.
#pragma once

#include "feeding/decision.h"
#include "feeding/hold.h"
#include "feeding/season_feeding.h"
#include "feeding/teller.h"
#include "words/sentence.h"

namespace plainwater::feeding::phrases {

using words::Sentence;

Evidence drop_evidence(const season::Drop& drop);
Evidence proof_evidence(const HoldEvent& event, const DropRules& rules);

Sentence placed(const season::Drop& drop, const HoldView& hold, const DropRules& rules);
/// `end`: of the hold, as a teller has it.
Sentence extended(const season::Drop& drop, const words::Value& end);
Sentence confirmed(const HoldEvent& event, const words::Value& end);
Sentence withdrawn(const HoldEvent& event, double days);
/// How much of the fall is left.
Sentence recovered(const HoldEvent& event);
/// The event is withdrawn; without `end` the hold ends with it.
Sentence event_withdrawn(const HoldEvent& event, const std::optional<words::Value>& end = {});
/// What people asked for goes on without what was detected.
Sentence asked_goes_on(const Hold& hold, const Teller& to);
Sentence ended(double days, int percent, bool capped);
/// The hold is over, but not the plain water.
Sentence ended_in_plain_water(double days, const Sentence& why);
/// `since`: what happened since the hold was placed, said instead of its cause; empty: nothing.
Sentence holding(const HoldView& hold, const Sentence& since, Instant now, const DropRules& rules,
                 const MoveRules& moves);
/// "carried outdoors on 31 May, back indoors the same day"
Sentence carried_and_back(Cause cause, Instant moved, Instant back, Instant now);
/// "cool growers"
Sentence growers(Group group);
Sentence drop_let_pass(const season::Drop& drop, const Sentence& why);
Evidence move_evidence(Instant moved, const season::ClimateChange& change, double needed_c);
/// "carried outdoors", to follow "the bench was"
Sentence carried(Cause cause);
/// "nights from 17.2 to 9.1 °C, days from 21.0 to 14.5 °C"
Sentence change(const season::ClimateChange& change);

/// `holding`: plain water was already in force. Outdoors there is no heating to check.
Sentence chilled(double air_c, double floor_c, Instant until, Instant now, bool holding,
                 bool outdoors);
Sentence chill_please(bool outdoors);
Sentence night_blind(double coverage, bool suspect, int nights);
/// Why the bench is fed so; goes after a colon.
Sentence reason(Cause cause);
/// The same, including how much is known of the bench's nights.
Sentence reason(Cause cause, const SeasonFeeding& season);
Sentence feeding_changed(Feeding feeding, int percent, const Sentence& why);

}  // namespace plainwater::feeding::phrases
