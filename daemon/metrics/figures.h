// What a metrics server is told, as copied under the service's lock when it asks; it is made into
// text without the lock.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "engine/engine.h"
#include "intake/refusals.h"

namespace plainwater::metrics {

/// How long something took, counted.
class Durations {
 public:
  /// Upper bounds in seconds; one more bucket is for what took longer.
  static constexpr std::array kBounds{0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05,
                                      0.1,    0.25,  0.5,    1.0,   2.5,  10.0};

  void count(double seconds) {
    std::size_t at = 0;
    while (at < kBounds.size() && seconds > kBounds[at]) ++at;
    ++counts_[at];
    sum_ += seconds;
  }
  const std::array<std::uint64_t, kBounds.size() + 1>& counts() const { return counts_; }
  double sum() const { return sum_; }

 private:
  std::array<std::uint64_t, kBounds.size() + 1> counts_{};
  double sum_ = 0;
};

/// Of the pages; connections and viewers now, the rest since the start.
struct BoardFigures {
  std::uint64_t answers = 0, refused_connections = 0, bad_requests = 0, dropped_readers = 0;
  std::size_t connections = 0, viewers = 0;
};

/// Of the process, as the kernel tells it; NaN where it does not.
struct ProcessFigures {
  double cpu_s, started_s, resident_bytes, virtual_bytes, open_files, most_files, threads;
};

using DecisionCounts = std::map<std::pair<feeding::DecisionKind, feeding::Cause>, std::uint64_t>;

/// Counts are since the start of the process unless it says otherwise.
struct Figures {
  std::string version;
  int rules_revision = 0;
  Instant now{kNever};  ///< engine time
  std::vector<engine::BenchNow> benches;
  std::vector<engine::PumpNow> pumps;
  std::vector<engine::SensorNow> sensors;  ///< references and contacts too
  std::map<std::string, Instant>
      orders_until;            ///< by bench: until when its last order is valid, which may be past
  double year_limit_days = 0;  ///< of the settings: days of plain water by detection in a year
  std::map<std::string, double>
      salt_limits_ec;  ///< by bench that has pots: mS/cm above which a flush is advised
  std::map<std::string, double> watering_days;  ///< by bench that has them, of the settings

  std::array<std::uint64_t, intake::kRefusals> refused{};                ///< by intake::Refusal
  std::map<std::string, std::uint64_t> refused_requests, refused_doses;  ///< by problem
  std::map<std::string, std::uint64_t> unused;  ///< of the engine, since its state began
  std::uint64_t readings = 0;  ///< readings and reports of pumps, new in the journal
  std::uint64_t lost = 0, replies_not_sent = 0;
  DecisionCounts decisions;
  std::uint64_t orders = 0;
  Durations writes;

  std::size_t held = 0;        ///< messages that wait for the store
  std::size_t on_the_way = 0;  ///< orders and notices that the broker has not acknowledged
  bool listening = false, publishing = false;  ///< connected to the broker
  bool drained = false;                        ///< the broker's backlog is in
  bool clock_settled = false, by_readings = false;
  bool usable = true, slow = false;  ///< the store

  std::optional<BoardFigures> board;  ///< none without pages
  std::map<std::pair<std::string, std::string>, std::uint64_t>
      notices_told;                         ///< by kind and urgency
  std::map<std::string, int> notices_open;  ///< by urgency: what lasts now
};

}  // namespace plainwater::metrics
