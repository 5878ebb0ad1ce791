#include "intake/arrival.h"

namespace plainwater::intake {

std::variant<TimeToUse, Refusal> reading_time(const Measured& reading, const Arrival& arrival) {
  if (!reading.time) {
    if (arrival.retained) return Refusal::untimed_retained;
    if (arrival.duplicate) return Refusal::untimed_duplicate;
    if (!arrival.after_fence) return Refusal::untimed_before_fence;
  }
  const Instant time = reading.time.value_or(arrival.now + reading.from_arrival);
  return TimeToUse{time, time > arrival.now + kFuture};
}

}  // namespace plainwater::intake
