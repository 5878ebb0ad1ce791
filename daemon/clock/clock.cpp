#include "clock/clock.h"

#include <sys/timex.h>

#include <ctime>

namespace plainwater::clock {
namespace {

/// Whole milliseconds. Both clocks exist on every Linux since 2.6.39; a failure would leave zero,
/// which means 1970 and therefore decides nothing.
Span read_clock(clockid_t id) {
  timespec t{};
  clock_gettime(id, &t);
  return Span(static_cast<std::int64_t>(t.tv_sec) * 1000 + t.tv_nsec / 1'000'000);
}

bool synchronised() {
  timex state{};  // modes 0: only query
  const int result = adjtimex(&state);
  return result >= 0 && result != TIME_ERROR && (state.status & STA_UNSYNC) == 0;
}

}  // namespace

ClockSample SystemClock::read() const {
  return {Instant(read_clock(CLOCK_REALTIME)), read_clock(CLOCK_BOOTTIME), synchronised()};
}

std::chrono::nanoseconds SystemClock::steady() const {
  return std::chrono::steady_clock::now().time_since_epoch();
}

}  // namespace plainwater::clock
