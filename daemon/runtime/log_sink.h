// Where the log goes: to a file that need not be read.
#pragma once

#include <string>

#include "common/log_line.h"

namespace plainwater::runtime {

/// While it lives, spdlog's default logger writes to this descriptor, by a LineWriter.
class LogTo {
 public:
  explicit LogTo(int file);
  /// Writes what waits, as far as it is taken. Nothing may be logged afterwards.
  ~LogTo();
  LogTo(const LogTo&) = delete;
  LogTo& operator=(const LogTo&) = delete;
};

/// One line, whatever it quotes of what came from outside. From any thread.
void log_line(LogLevel level, const std::string& text);

}  // namespace plainwater::runtime
