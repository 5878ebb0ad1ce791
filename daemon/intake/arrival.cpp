#include "intake/arrival.h"

namespace plainwater::intake {
namespace {

constexpr Instant kPumpClockSet = from_seconds(1'577'836'800);  // 2020-01-01

}  // namespace

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

std::variant<TimeToUse, Refusal> time_by_readings(std::optional<Instant> own,
                                                  const Arrival& arrival, Instant engine_now) {
  Arrival untimed = arrival;
  untimed.after_fence = false;
  untimed.now = own.value_or(arrival.now);
  auto timed = time_to_use(own, Span(0), untimed);
  const auto* use = std::get_if<TimeToUse>(&timed);
  if (use != nullptr && engine_now != kNever && use->time > engine_now + kFarAhead)
    return Refusal::future;
  return timed;
}

PumpTime pump_time(std::optional<Instant> own, const Arrival& arrival) {
  const auto time = time_by_pump(own);
  const bool live = arrival.after_fence && !arrival.retained && !arrival.duplicate;
  if (!time || !live || *time <= arrival.now + kFuture) return {time};
  return {std::nullopt, true};
}

std::optional<Instant> time_by_pump(std::optional<Instant> own) {
  return own && *own >= kPumpClockSet ? own : std::nullopt;
}

}  // namespace plainwater::intake
