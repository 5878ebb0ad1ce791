// Readings that came after their night had closed: they correct that night's figures for what
// follows, and the ledger says so. What was decided stays decided.
#pragma once

#include "climate/sun.h"
#include "engine/turn.h"

namespace plainwater::engine {

/// Corrects the bench's last night, if the night that closes now, at `t`, is the one after it.
void revise_last_night(std::size_t bench, climate::SolarDay closing, const Sensors& sensors,
                       Instant t, const Turn& turn);

}  // namespace plainwater::engine
