// What is answered to a name that no bench or pump has: a mistyped one, or one of former settings.
#pragma once

#include <string_view>

#include "settings/settings.h"
#include "words/sentence.h"

namespace plainwater {

/// For a name that `heirs_of_bench` does not lead to one bench. Names the one that is meant where
/// that can be guessed, by its own name or a former one; several where a bench was split.
words::Sentence no_such_bench(const Settings& settings, std::string_view asked);
/// For a name that no pump has; a former one is led to the present one.
words::Sentence no_such_pump(const Settings& settings, std::string_view asked);
/// For a name that no sensor has; as for pumps.
words::Sentence no_such_sensor(const Settings& settings, std::string_view asked);

}  // namespace plainwater
