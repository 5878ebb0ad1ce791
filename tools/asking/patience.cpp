#include "asking/patience.h"

#include <fmt/format.h>

#include <algorithm>

#include "common/quoted.h"
#include "feeding/request_times.h"
#include "settings/scalar.h"

namespace plainwater::asking {
namespace {

using feeding::RequestKind;

/// What would happen hours later, unseen; null for requests that may wait.
const char* why_not_queued(RequestKind kind) {
  switch (kind) {
    case RequestKind::arm: return "a pump would begin to follow its orders";
    case RequestKind::trust: return "a pump that disobeyed would follow its orders again";
    case RequestKind::release:
    case RequestKind::exempt:
    case RequestKind::growth_started:
    case RequestKind::end_chill: return "feed could flow again";
    case RequestKind::withdraw: return "plain water that was announced would not begin";
    case RequestKind::back: return "pumps could be armed again";
    case RequestKind::hold:
    case RequestKind::extend:
    case RequestKind::acknowledge:
    case RequestKind::disarm:
    case RequestKind::move:
    case RequestKind::watered:
    case RequestKind::runoff:
    case RequestKind::retire:
    case RequestKind::reload:
    case RequestKind::note:
    case RequestKind::absence: return nullptr;
  }
  return nullptr;
}

}  // namespace

std::string say_span(Span span) {
  const auto s = std::chrono::duration_cast<seconds>(span).count();
  if (s % 86'400 == 0) return fmt::format("{} d", s / 86'400);
  if (s % 3'600 == 0) return fmt::format("{} h", s / 3'600);
  return s % 60 == 0 ? fmt::format("{} min", s / 60) : fmt::format("{} s", s);
}

Result<Patience> patience_for(RequestKind kind, const std::string& expires, bool queue,
                              int session_s, bool replaces) {
  const char* unseen = why_not_queued(replaces ? RequestKind::withdraw : kind);
  if (queue && unseen != nullptr)
    return Error{
        fmt::format("{} cannot wait for a service that is away", feeding::name_of(kind)), "--queue",
        fmt::format("{} hours later, with nobody there; ask again when the service runs", unseen)};
  const Span most =
      queue ? std::min<Span>(feeding::kLongestWay, seconds(session_s)) : Span(kLongestAsked);
  if (expires.empty())
    return Patience{queue ? std::min<Span>(kUsuallyQueued, most) : Span(kUsuallyGood), queue};
  const auto given = read_seconds(expires);
  if (!given || *given < 1)
    return Error{
        fmt::format("expected a time such as 90 s, 5 min or 12 h, found {}", quoted(expires)),
        "--expires", ""};
  if (seconds(*given) > most)
    return Error{fmt::format("{} is longer than {}", say_span(seconds(*given)), say_span(most)),
                 "--expires",
                 queue               ? "the broker and the service keep nothing longer"
                 : unseen != nullptr ? "give a shorter time"
                                     : "give a shorter time, or let it wait with --queue"};
  return Patience{seconds(*given), queue};
}

}  // namespace plainwater::asking
