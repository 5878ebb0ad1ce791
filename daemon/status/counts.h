// Counters since the start of the process.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <utility>

#include "feeding/decision.h"

namespace plainwater::status {

/// A histogram of durations.
class Durations {
 public:
  /// Upper bounds in seconds; one more bucket counts anything longer.
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

struct Counts {
  std::map<std::pair<feeding::DecisionKind, feeding::Cause>, std::uint64_t> decisions;
  std::uint64_t orders = 0;  ///< including repetitions
  std::map<std::pair<std::string, std::string>, std::uint64_t>
      notices;                 ///< by kind and urgency; every kind is present, from 0 on
  std::uint64_t readings = 0;  ///< readings and pump reports that were new in the journal
  std::uint64_t lost =
      0;  ///< acknowledged, but neither stored nor held for lack of room; must stay 0
  std::uint64_t not_stored =
      0;  ///< refused by the store and set aside in it, since the store began
  std::uint64_t replies_not_sent = 0;
  std::uint64_t reply_topics_refused = 0;  ///< requests whose response topic is not one of ours
  Durations writes;                        ///< time to process one message
};

}  // namespace plainwater::status
