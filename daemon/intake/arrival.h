// Which time to use for a reading or a dose. Its own time counts; the time of arrival is used only
// when it can be close to the truth: never for a retained message, a redelivery, or the broker's
// backlog before the fence.
#pragma once

#include <optional>
#include <variant>

#include "common/instant.h"
#include "intake/payload.h"
#include "intake/refusals.h"

namespace plainwater::intake {

/// Own times further ahead of engine time than this are journaled but not used.
inline constexpr Span kFuture = minutes(5);

/// When time comes from the readings: an own time further ahead of all earlier ones than this is
/// wrong, and must not move the whole house.
inline constexpr Span kFarAhead = 60 * kDay;

struct Arrival {
  Instant now{};  ///< engine time of the arrival
  bool retained = false;
  bool duplicate = false;    ///< redelivered: MQTT's DUP flag
  bool after_fence = false;  ///< see mqtt_link.h
};

struct TimeToUse {
  Instant time{};
  bool future = false;  ///< more than `kFuture` ahead: journal it and count Refusal::future; the
                        ///< engine does not use it

  bool operator==(const TimeToUse&) const = default;
};

/// The resolved time, or one of the `untimed_` refusals. Without an `own` time it is the arrival's
/// plus `from_arrival`.
std::variant<TimeToUse, Refusal> time_to_use(std::optional<Instant> own, Span from_arrival,
                                             const Arrival& arrival);
/// When time comes from the readings: only an own time counts. `engine_now`: kNever until the first
/// reading.
std::variant<TimeToUse, Refusal> time_by_readings(std::optional<Instant> own,
                                                  const Arrival& arrival, Instant engine_now);

/// A pump report's own time.
struct PumpTime {
  std::optional<Instant> own{};
  bool ahead = false;  ///< the pump's clock is ahead: use the arrival time for its report

  bool operator==(const PumpTime&) const = default;
};
/// None when the pump's clock was never set (it shows a year before 2020), or when it is ahead in a
/// live message. For retained or redelivered messages nobody knows when they were sent.
PumpTime pump_time(std::optional<Instant> own, const Arrival& arrival);
/// None when the pump's clock shows a time from before it could have been set.
std::optional<Instant> time_by_pump(std::optional<Instant> own);

}  // namespace plainwater::intake
