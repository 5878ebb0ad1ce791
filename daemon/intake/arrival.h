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
std::variant<TimeToUse, Refusal> reading_time(const Measured& reading, const Arrival& arrival);

}  // namespace plainwater::intake
