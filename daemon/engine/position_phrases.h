// What people read about where a bench stands, and the figures behind it.
#pragma once

#include "feeding/decision.h"
#include "season/position_watch.h"

namespace plainwater::engine {

/// What the air said at the look.
feeding::Evidence look_evidence(const season::PlaceChange& change, const season::Sighting& sighting,
                                const season::PositionFilter& filter);
/// "outdoors"
words::Sentence in_words(Position position);
/// `since` and `now` are what the site's clocks show; `says` names whose word it is: "as ann says".
words::Sentence place_changed(const season::PlaceChange& change, Instant since, Instant now,
                              season::Pattern pattern, const words::Sentence& says);

}  // namespace plainwater::engine
