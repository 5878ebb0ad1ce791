// Input of the metrics: the service's status and figures from outside it.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>

#include "settings/settings.h"
#include "status/status.h"

namespace plainwater::metrics {

/// Of the web pages: connections and viewers are current, the rest since the start.
struct BoardFigures {
  std::uint64_t answers = 0, refused_connections = 0, bad_requests = 0, dropped_readers = 0,
                wrong_tokens = 0;
  std::size_t connections = 0, viewers = 0;
  std::uint64_t wrong_secrets = 0,  ///< of people, and wrong lines in the form
      foreign_requests = 0;         ///< refused: no page of ours sends such
};

/// Of the process, from the kernel; NaN when unavailable.
struct ProcessFigures {
  double cpu_s, started_s, resident_bytes, virtual_bytes, open_files, most_files, threads;
};

struct Figures {
  std::shared_ptr<const status::Status> status;
  std::shared_ptr<const Settings> settings;
  std::optional<BoardFigures> board{};  ///< none without pages
};

}  // namespace plainwater::metrics
