// For conditions that only a mistake in this program can break: names that the settings were
// checked for, numbers that only grow. Checked in every build, because the service should stop and
// restart from its journal rather than go on in an impossible state. What the world can break
// (files, payloads, people, clocks) is a Result, never a check.
#pragma once

namespace plainwater {

/// Prints file, line and function to standard error, and aborts.
[[noreturn]] void broken(const char* file, int line, const char* function);

/// The location comes from compiler builtins that GCC and Clang share: Clang 14, which builds the
/// fuzz targets, has no std::source_location.
inline void check(bool holds, const char* file = __builtin_FILE(), int line = __builtin_LINE(),
                  const char* function = __builtin_FUNCTION()) {
  if (!holds) [[unlikely]]
    broken(file, line, function);
}

}  // namespace plainwater
