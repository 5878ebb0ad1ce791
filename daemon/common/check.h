// For what only a mistake in this program can break: names that the settings' own checks vouch for,
// numbers that only grow. It is asked in every build, since the service must rather stop, and be
// started anew from its journal, than go on with what cannot be. What the world can break (files,
// payloads, people, clocks) is a Result, never a check.
#pragma once

#include <source_location>

namespace plainwater {

/// Tells file, line and function on standard error, and aborts.
[[noreturn]] void broken(const std::source_location& where);

inline void check(bool holds, const std::source_location& where = std::source_location::current()) {
  if (!holds) [[unlikely]]
    broken(where);
}

}  // namespace plainwater
