#include "intake/arrival.h"

namespace plainwater::intake {

std::variant<TimeToUse, Refusal> time_to_use(std::optional<Instant> own, Span from_arrival,
                                             const Arrival& arrival) {
  if (!own) {
    if (arrival.retained) return Refusal::untimed_retained;
    if (arrival.duplicate) return Refusal::untimed_duplicate;
    if (!arrival.after_fence) return Refusal::untimed_before_fence;
  }
  const Instant time = own.value_or(arrival.now + from_arrival);
  return TimeToUse{time, time > arrival.now + kFuture};
}

std::variant<TimeToUse, Refusal> reading_time(const Measured& reading, const Arrival& arrival) {
  return time_to_use(reading.time, reading.from_arrival, arrival);
}

}  // namespace plainwater::intake
