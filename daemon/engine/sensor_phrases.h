// What people read about sensors.
#pragma once

#include <string>

#include "climate/sensor_watch.h"
#include "feeding/decision.h"

namespace plainwater::engine {

feeding::Cause cause_of(climate::Doubt doubt);
const char* name_of(climate::Doubt doubt);  ///< "stuck", "silent" …; `none` is ""
/// The same for people, from what `name_of` gave.
words::Sentence in_words(std::string_view doubt);
words::Sentence doubted(const std::string& sensor, climate::Doubt doubt, const std::string& bench);
words::Sentence trusted_again(const std::string& sensor, climate::Doubt was);

}  // namespace plainwater::engine
