// Sentences and figures about where a bench stands.
#pragma once

#include <string>

#include "feeding/decision.h"
#include "season/position_watch.h"

namespace plainwater::engine {

/// What the air said at the look.
feeding::Evidence look_evidence(const season::PlaceChange& change, const season::Sighting& sighting,
                                const season::PositionFilter& filter);
/// `since` is what the site's clocks show.
std::string place_changed(const season::PlaceChange& change, Instant since, season::Pattern pattern,
                          const std::string& who);

}  // namespace plainwater::engine
