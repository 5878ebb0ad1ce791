// Limits something to once per interval.
#pragma once

#include <optional>

#include "common/instant.h"

namespace plainwater::service {

class Spacing {
 public:
  explicit constexpr Spacing(Span interval) : interval_(interval) {}

  /// True the first time, then at most once per interval. `since_boot`: see clock::ClockSample.
  bool due(Span since_boot) {
    if (last_ && since_boot - *last_ < interval_) return false;
    last_ = since_boot;
    return true;
  }

 private:
  Span interval_;
  std::optional<Span> last_;
};

}  // namespace plainwater::service
