// How long a request stays good, and whether it may wait for a service that is away.
#pragma once

#include <string>

#include "common/result.h"
#include "feeding/request.h"

namespace plainwater::asking {

inline constexpr Span kUsuallyGood = seconds(60);
inline constexpr Span kUsuallyQueued = hours(12);
/// A request that is good for longer waits, and must be meant to.
inline constexpr Span kLongestAsked = minutes(10);

struct Patience {
  Span good = kUsuallyGood;  ///< how long the broker may deliver it
  bool queue = false;        ///< it may wait for a service that is away
};

/// `expires` as typed ("60 s", "12 h"), empty: the usual. `session_s`: how long the broker keeps
/// the service's session, seconds. Errors: not a span; longer than anybody keeps it; a request that
/// may not wait, because it could bring feed back, or let a pump follow its orders, hours after the
/// one who asked has gone. `replaces`: a hold in place of an announced one, which would not begin.
Result<Patience> patience_for(feeding::RequestKind kind, const std::string& expires, bool queue,
                              int session_s, bool replaces = false);

/// "12 h", "1 min"
std::string say_span(Span span);

}  // namespace plainwater::asking
