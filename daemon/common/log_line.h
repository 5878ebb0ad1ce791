// A line for the service's log, as data: the caller decides where it goes.
#pragma once

#include <cstdint>
#include <string>

namespace plainwater {

enum class LogLevel : std::uint8_t { debug, info, warning, error, critical };

struct LogLine {
  LogLevel level = LogLevel::info;
  std::string text;
};

}  // namespace plainwater
