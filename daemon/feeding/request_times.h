// Whether a request, by when it was sent, is still to be obeyed.
#pragma once

#include <optional>

#include "feeding/request.h"

namespace plainwater::feeding {

/// How far ahead an asker's clock may be.
inline constexpr Span kAskerAhead = minutes(5);
/// A request sent longer ago is too old to be obeyed.
inline constexpr Span kLongestWay = 7 * kDay;

/// The refusal of a request that comes too late or gives an impossible time: "expired",
/// "sent-in-the-future", "sent-too-long-ago". None if the request gives no times. A request sent
/// before `forgotten` (kNever: nothing is forgotten) may have been answered already.
std::optional<Reply> refused_by_times(const Request& request, Instant now, Instant forgotten);

}  // namespace plainwater::feeding
