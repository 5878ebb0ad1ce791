// What a person is told, and asked, before a request that can do harm is sent.
#pragma once

#include <string>

#include "settings/settings.h"

namespace plainwater::tool {

/// Tells what `pump` would give once it follows its orders, as the broker has them, and asks for a
/// yes on the terminal; with `yes` the question is left out. False, and told: it is not to be
/// armed.
bool agrees_to_arm(const Settings& settings, const std::string& pump, bool yes);

/// Asks on the terminal; `yes`: it was answered already. Without a terminal, or with another
/// answer, false, and told.
bool agrees(const Settings& settings, const words::Sentence& question, bool yes);

}  // namespace plainwater::tool
