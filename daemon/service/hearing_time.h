// For how long we have been able to hear others at the broker: only then does somebody's silence
// count. Summed over connections, with at most kStep between two looks: after this machine slept,
// others need a moment to be heard. Pure.
#pragma once

#include <algorithm>
#include <optional>

#include "common/instant.h"

namespace plainwater::service {

class HearingTime {
 public:
  static constexpr Span kStep = seconds(10);

  /// `hearing`: the link is up and its backlog in. `since_boot`: see clock::ClockSample.
  void look(Span since_boot, bool hearing) {
    if (!hearing) return looked_.reset();
    if (looked_) total_ += std::min(since_boot - *looked_, kStep);
    looked_ = since_boot;
    ever_ = true;
  }
  Span total() const { return total_; }
  bool ever() const { return ever_; }

 private:
  Span total_{0};
  std::optional<Span> looked_;  ///< the last look while we hear
  bool ever_ = false;
};

}  // namespace plainwater::service
