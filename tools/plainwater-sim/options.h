// The simulator's command line.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "plainwater-sim/faults.h"

namespace plainwater::sim {

struct Options {
  std::string broker;  ///< mqtt://host:port; empty: write a file
  std::string csv;     ///< path; "-" is standard output
  std::string client_id = "plainwater-sim";
  Instant from{}, to{};  ///< reports in [from, to)
  Span interval = minutes(10);
  std::optional<double> speed;  ///< times real speed; none: as fast as the broker takes it
  bool live = false;            ///< go on at real speed, one report a minute, after `to`
  bool quiet = false;
  int most_in_flight = 200;
  std::uint64_t seed = 1;
  std::vector<Fault> faults;
};

/// The options, or the exit code to leave with (help was shown, or the usage was wrong).
struct Parsed {
  std::optional<Options> options;
  int exit_code = 0;
};
Parsed parse_options(int argc, char** argv);

}  // namespace plainwater::sim
