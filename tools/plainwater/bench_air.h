// The newest air of a bench and of its sensors, in the words of the house.
#pragma once

#include <boost/json/object.hpp>

#include "common/instant.h"
#include "words/sentence.h"

namespace plainwater::tool {

/// "Indoors, 12.3 °C and 84 % 3 min ago (cold-air)." With several sensors, or one that is doubted,
/// a sentence for each follows. `climate` and `position` are the bench's messages, `now` is to tell
/// how old a reading is.
words::Sentence air_of(const boost::json::object& climate, const boost::json::object& position,
                       Instant now);

}  // namespace plainwater::tool
