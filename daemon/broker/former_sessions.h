// Sessions that the broker keeps under client ids which we had before: of a version without a key,
// of a store that a restored one replaced. What waits in them is ours, and nobody else will fetch
// it.
//
// First our present id gets its session, so that from then on the broker keeps for it what comes.
// Then each former session hands over what it has, and is ended. What comes meanwhile may come
// twice. A former id that another client takes from us is that client's, and left to it. One that
// the broker refuses is not waited for without end: then its session stays as it is.
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
  fetched,      ///< what waited is in, and the session is over
  taken,        ///< another client has it, and what waited in it
  not_fetched,  ///< the broker did not hand it over while it was there
};

struct FormerEvents {
  std::function<void(LogLevel, const std::string&)> on_log;  ///< see ConnectEvents
  std::function<void(const Message&)> on_message;            ///< see LinkEvents
  /// We are done with this former session. From a thread of this object.
  std::function<void(std::uint64_t key, FormerEnd end)> on_ended;
};

/// A former session has two tries, with a look between them whether the broker is there. A try ends
/// when nothing came for so long, or after `kMostQuietSpans` times as long, whatever came.
/// Short, for no order goes out before it: a simple pump waits for a strength for 15 minutes.
inline constexpr Span kFormerQuiet = minutes(1);

class FormerSessions {
 public:
  /// `plan` and `subscriptions` as for the link that comes afterwards; `keys` stand in the place of
  /// `plan.client_key`.
  FormerSessions(ConnectPlan plan, std::vector<std::string> subscriptions,
                 std::vector<std::uint64_t> keys, FormerEvents events, Span quiet = kFormerQuiet);
  /// Ends within 2 s, wherever it is; no event comes afterwards. What has not ended can be begun
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
