// The stand-in's command line.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "pump-stand-in/faults.h"
#include "pump-stand-in/pump.h"

namespace plainwater::pump {

enum class ClockSource : std::uint8_t { wall, none, topic };

struct Options {
  std::string broker;  ///< mqtt://host:port
  bool mqtt_5 = true;
  std::string root = "plainwater", site;
  Setup setup;
  Span every{}, offset{};
  double litres = 1;
  ClockSource clock = ClockSource::wall;
  std::string clock_topic, clock_field;
  std::vector<Fault> faults;
  std::optional<std::int64_t> waterings;  ///< then exit
  std::string log;                        ///< empty: no log
  bool totals = false;
  bool quiet = false;
};

/// The options, or the exit code to leave with (help was shown, or the usage was wrong).
struct Parsed {
  std::optional<Options> options;
  int exit_code = 0;
};
Parsed parse_options(int argc, char** argv);

}  // namespace plainwater::pump
