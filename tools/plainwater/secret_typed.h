// Secrets that people type: never shown, never an argument.
#pragma once

#include <string>

#include "common/result.h"

namespace plainwater::tool {

/// On a terminal asks for it without showing it, twice when `again`; otherwise reads one line of
/// standard input. Without surrounding spaces, as signing in takes it.
Result<std::string> typed_secret(const std::string& prompt, bool again);

}  // namespace plainwater::tool
