// Sessions that the broker keeps under our former client ids: of a version without a key, or of a
// store that a restored one replaced. Their waiting messages are ours, and nobody else will fetch
// them.
//
// First our present id gets its session, so that the broker keeps new messages for it from then on.
// Then each former session is emptied and ended. Messages that arrive meanwhile may come twice. If
// another client takes a former id from us, the id is left to that client. If the broker keeps
// refusing one, we stop waiting and leave its session as it is.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "broker/mqtt_link.h"
#include "common/instant.h"

namespace plainwater::broker {

enum class FormerEnd {
  fetched,      ///< its messages are in, and the session is ended
  taken,        ///< another client has it, with its messages
  not_fetched,  ///< the broker did not hand it over in time
};

struct FormerEvents {
  std::function<void(LogLevel, const std::string&)> on_log;  ///< see ConnectEvents
  std::function<void(const Message&)> on_message;            ///< see LinkEvents
  /// We are done with this former session. Called on a thread of this object.
  std::function<void(std::uint64_t key, FormerEnd end)> on_ended;
};

/// Each former session gets two tries, and between them we check that the broker is there. A try
/// ends when nothing came for this long, or in any case after `kMostQuietSpans` times as long.
/// Short, because no order goes out before it: a simple pump waits 15 minutes for a strength.
inline constexpr Span kFormerQuiet = minutes(1);

class FormerSessions {
 public:
  /// `plan` and `subscriptions` as for the link that comes afterwards; each of `keys` replaces
  /// `plan.client_key`.
  FormerSessions(ConnectPlan plan, std::vector<std::string> subscriptions,
                 std::vector<std::uint64_t> keys, FormerEvents events, Span quiet = kFormerQuiet);
  /// Ends within 2 s at any point; no event comes afterwards. Unfinished sessions can be tried
  /// again.
  ~FormerSessions();
  FormerSessions(const FormerSessions&) = delete;
  FormerSessions& operator=(const FormerSessions&) = delete;

  void start();

  static constexpr int kMostQuietSpans = 60;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace plainwater::broker
