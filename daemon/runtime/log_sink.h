// Where the log goes: to a file that need not be read.
#pragma once

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

}  // namespace plainwater::runtime
