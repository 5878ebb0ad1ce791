// The only place that reads clocks. Everything else takes times as arguments.
#pragma once

#include "common/instant.h"

namespace plainwater::clock {

/// All clocks, read together once per wake-up.
struct ClockSample {
  Instant wall{};             ///< the machine's calendar time
  Span since_boot{};          ///< runs evenly, even through suspend; never set
  bool synchronised = false;  ///< the kernel reports that a time service keeps the wall clock
};

class SystemClock {
 public:
  ClockSample read() const;
  /// For measuring durations: finer than the sample's times, without a calendar.
  std::chrono::nanoseconds steady() const;
};

}  // namespace plainwater::clock
