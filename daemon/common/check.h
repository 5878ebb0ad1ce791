// For what only a mistake in this program can break: names that the settings' own checks vouch for,
// numbers that only grow. It is asked in every build, since the service must rather stop, and be
// started anew from its journal, than go on with what cannot be. What the world can break (files,
// payloads, people, clocks) is a Result, never a check.
#pragma once

namespace plainwater {

/// Tells file, line and function on standard error, and aborts.
[[noreturn]] void broken(const char* file, int line, const char* function);

/// The place is the caller's, by what GCC and Clang both know: Clang 14, which builds the fuzz
/// targets, has no std::source_location.
inline void check(bool holds, const char* file = __builtin_FILE(), int line = __builtin_LINE(),
                  const char* function = __builtin_FUNCTION()) {
  if (!holds) [[unlikely]]
    broken(file, line, function);
}

}  // namespace plainwater
