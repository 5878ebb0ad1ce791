// Readings that came after their night had closed correct that night's figures for later use, and
// the ledger says so. What was decided stays decided.
#pragma once

#include "climate/sun.h"
#include "engine/turn.h"

namespace plainwater::engine {

/// Corrects the bench's last night, if it directly precedes the night that closes now, at `t`.
void revise_last_night(std::size_t bench, climate::SolarDay closing, const Sensors& sensors,
                       Instant t, const Turn& turn);

}  // namespace plainwater::engine
