#include "feeding/request_times.h"

#include <fmt/format.h>

namespace plainwater::feeding {

std::optional<Reply> refused_by_times(const Request& request, Instant now, Instant forgotten) {
  const auto late = [&](const char* problem, const char* field, Instant told, const char* why) {
    return Reply{false, problem,
                 fmt::format("{} is {}, and here it is {}: {}", field, format_rfc3339(told),
                             format_rfc3339(now), why)};
  };
  if (request.expires && *request.expires < now)
    return late("expired", "expires", *request.expires,
                "the request came too late and was not obeyed; ask again if it is still wanted");
  if (!request.sent) return std::nullopt;
  if (*request.sent > now + kAskerAhead)
    return late("sent-in-the-future", "sent", *request.sent,
                "more than 5 minutes ahead; set the clock of the device that asks");
  if (*request.sent < now - kLongestWay)
    return late("sent-too-long-ago", "sent", *request.sent,
                "more than 7 days ago; ask again if it is still wanted");
  if (*request.sent <= forgotten)
    return late("sent-too-long-ago", "sent", *request.sent,
                "so many were answered since that it may have been one of them; ask again if it is "
                "still wanted");
  return std::nullopt;
}

}  // namespace plainwater::feeding
