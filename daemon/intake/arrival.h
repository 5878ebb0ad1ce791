// The time to use for a reading or a dose. A reading's own time counts; the time of arrival serves
// only while it can be near the truth: never for a retained message, a redelivery, or the broker's
// backlog before the fence.
#pragma once

#include <optional>
#include <variant>

#include "common/instant.h"
#include "intake/payload.h"
#include "intake/refusals.h"

namespace plainwater::intake {

/// Own times further ahead of engine time than this are kept in the journal and not used.
inline constexpr Span kFuture = minutes(5);

/// With the time from the readings: what is farther ahead of all before it than this is a wrong
/// time, and must not drag the whole house along.
inline constexpr Span kFarAhead = 60 * kDay;

struct Arrival {
  Instant now{};  ///< engine time of the arrival
  bool retained = false;
  bool duplicate = false;    ///< redelivered: MQTT's DUP flag
  bool after_fence = false;  ///< see mqtt_link.h
};

struct TimeToUse {
  Instant time{};
  bool future = false;  ///< more than `kFuture` ahead: journal it, count Refusal::future; the
                        ///< engine does not use it

  bool operator==(const TimeToUse&) const = default;
};

/// A time, or one of the `untimed_` refusals. Without an `own` time it is the arrival's and
/// `from_arrival`.
std::variant<TimeToUse, Refusal> time_to_use(std::optional<Instant> own, Span from_arrival,
                                             const Arrival& arrival);
/// With the time from the readings: only an own time counts. `engine_now`: kNever until
/// the first reading.
std::variant<TimeToUse, Refusal> time_by_readings(std::optional<Instant> own,
                                                  const Arrival& arrival, Instant engine_now);

/// What a pump tells of its own time.
struct PumpTime {
  std::optional<Instant> own{};
  bool ahead = false;  ///< its clock is ahead: its report counts as of its arrival

  bool operator==(const PumpTime&) const = default;
};
/// None where its clock was never set, which is when it shows a year before 2020, or where it is
/// ahead in a live message. Of a kept or repeated one nobody knows when it was sent.
PumpTime pump_time(std::optional<Instant> told, const Arrival& arrival);
/// A pump's clock that shows an earlier time was never set.
std::optional<Instant> time_by_pump(std::optional<Instant> told);

}  // namespace plainwater::intake
