// Sends the log to a file that nobody needs to read.
#pragma once

#include <string>

#include "common/log_line.h"

namespace plainwater::runtime {

/// While it exists, spdlog's default logger writes to this descriptor through a LineWriter.
class LogTo {
 public:
  explicit LogTo(int file);
  /// Writes the waiting lines as far as they are read. Nothing may be logged afterwards.
  ~LogTo();
  LogTo(const LogTo&) = delete;
  LogTo& operator=(const LogTo&) = delete;
};

/// Logs one line, whatever outside text it quotes. From any thread.
void log_line(LogLevel level, const std::string& text);

}  // namespace plainwater::runtime
