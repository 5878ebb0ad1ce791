// The only place that reads clocks. Everything else takes times as arguments.
#pragma once

#include "common/instant.h"

namespace plainwater::clock {

/// All clocks, read together once per wake-up.
struct ClockSample {
  Instant wall{};             ///< the calendar, as the machine believes it
  Span since_boot{};          ///< runs evenly, also through suspend; never set
  bool synchronised = false;  ///< the kernel says that a time service keeps the wall clock
};

class SystemClock {
 public:
  ClockSample read() const;
  /// For how long something takes: finer than the sample's, and no calendar.
  std::chrono::nanoseconds steady() const;
};

}  // namespace plainwater::clock
