#include "feeding/request_times.h"

namespace plainwater::feeding {

std::optional<Reply> refused_by_times(const Request& request, Instant now, Instant forgotten) {
  const auto late = [&](const char* problem, const char* field, Instant told,
                        const words::Sentence& why) {
    return Reply{false, problem,
                 words::say("request.times", {{"field", words::name(field)},
                                              {"time", words::moment(told)},
                                              {"now", words::moment(now)},
                                              {"why", why}})};
  };
  if (request.expires && *request.expires < now)
    return late("expired", "expires", *request.expires, words::say("request.times-expired"));
  if (!request.sent) return std::nullopt;
  if (*request.sent > now + kAskerAhead)
    return late("sent-in-the-future", "sent", *request.sent, words::say("request.times-ahead"));
  if (*request.sent < now - kLongestWay)
    return late("sent-too-long-ago", "sent", *request.sent, words::say("request.times-long-ago"));
  if (*request.sent <= forgotten)
    return late("sent-too-long-ago", "sent", *request.sent, words::say("request.times-forgotten"));
  return std::nullopt;
}

}  // namespace plainwater::feeding
