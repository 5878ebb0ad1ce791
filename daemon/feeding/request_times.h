// When a request was sent, and whether it is still to be obeyed.
#pragma once

#include <optional>

#include "feeding/request.h"

namespace plainwater::feeding {

/// An asker's clock may be so far ahead.
inline constexpr Span kAskerAhead = minutes(5);
/// What was sent earlier is too old to be obeyed.
inline constexpr Span kLongestWay = 7 * kDay;

/// The refusal of a request that comes too late or tells an impossible time: "expired",
/// "sent-in-the-future", "sent-too-long-ago". None when it tells no times. What was sent before
/// `forgotten` (kNever for nothing) may have been answered already.
std::optional<Reply> refused_by_times(const Request& request, Instant now, Instant forgotten);

}  // namespace plainwater::feeding
