// The sentences that a grower reads, and the figures behind them. Instants here are what the site's
// clocks show.
#pragma once

#include <string>

#include "feeding/decision.h"
#include "feeding/hold.h"

namespace plainwater::feeding::words {

Evidence drop_evidence(const season::Drop& drop);
Evidence proof_evidence(const HoldEvent& event, const DropRules& rules);

std::string placed(const season::Drop& drop, const HoldView& hold, const DropRules& rules);
std::string extended(const season::Drop& drop, const HoldView& hold);
std::string confirmed(const HoldEvent& event, const HoldView& hold);
std::string withdrawn(const HoldEvent& event, double days);
std::string event_withdrawn(const HoldEvent& event, const HoldView& hold, Instant now);
std::string ended(double days, int percent, bool capped);
/// The hold is over, but not the plain water.
std::string ended_in_plain_water(double days, Cause cause);
std::string announced(const std::string& who, Instant until);
std::string holding(const HoldView& hold, const DropRules& rules, const MoveRules& moves);
std::string drop_let_pass(const season::Drop& drop, const std::string& why);
Evidence move_evidence(Instant moved, const season::ClimateChange& change, double needed_c);
/// "carried outdoors", to follow "the bench was"
const char* carried(Cause cause);
/// "nights from 17.2 to 9.1 °C, days from 21.0 to 14.5 °C"
std::string change(const season::ClimateChange& change);

std::string chilled(double air_c, double floor_c, Instant until);
std::string night_blind(double coverage, bool suspect, int nights);
/// Why it is fed so, to follow a colon.
std::string reason(Cause cause);
std::string feeding_changed(Feeding feeding, int percent, Cause cause);

}  // namespace plainwater::feeding::words
