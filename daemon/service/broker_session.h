// The state of the connection to the broker: is the backlog in, since when has the broker been
// away, may nights close. Pure; times are arguments.
#pragma once

#include <optional>

#include "common/instant.h"

namespace plainwater::service {

class BrokerSession {
 public:
  /// A broker that has handed over no backlog for this long counts as gone: nights then close with
  /// what there is.
  static constexpr Span kBacklogPatience = hours(24);
  /// This many connections in a row, each ending this soon after its backlog is in and made again
  /// this soon, suggest that another client uses our id: mosquitto 2.0.11 then ends ours without
  /// saying why. A restarting broker is away for longer, or less often.
  static constexpr Span kShortLife = seconds(5);
  static constexpr Span kShortGap = seconds(10);
  static constexpr int kShortLives = 10;

  /// `since_boot`: see clock::ClockSample; here and below.
  explicit BrokerSession(Span since_boot) : waiting_since_(since_boot) {}

  /// The runtime now listens, or has stopped because we wanted it to.
  void listening_changed(bool listening, Span since_boot);
  void connected(Span since_boot);
  /// Our publishing client is connected from now on.
  void publishing(Span since_boot) { publishing_since_ = since_boot; }
  /// `engine_now`: when the gap, if one is reported, began.
  void lost(Span since_boot, Instant engine_now);
  void drained(Span since_boot);
  /// The link subscribes anew on the connection that it has, and its backlog ends once more.
  void begins_again(Span since_boot);
  /// Another client got one of our sessions between `since` and now, and may have been handed what
  /// was meant for us. Repeated before the backlog is in, this counts as one takeover.
  void taken(Instant since);

  bool is_connected() const { return connected_; }
  bool is_drained() const { return drained_; }
  /// No night closes before the backlog is in, since it may hold that night's readings, unless the
  /// broker has been gone for a day. Time in which we did not listen does not count.
  bool may_nights_close(Span since_boot) const;
  /// Whether we have waited for the backlog longer than this while listening and able to publish.
  /// While the broker is away altogether, nothing can come.
  bool waits_longer_than(Span patience, Span since_boot) const;
  /// Once after the broker is back: since when it was away (engine time).
  std::optional<Instant> take_gap();
  /// Once after too many short connections: since when they have been short (engine time).
  std::optional<Instant> take_suspicion();
  /// Once after the backlog is in: since when another client had a session of ours (engine time).
  std::optional<Instant> take_takeover();

 private:
  bool listening_ = false;
  bool connected_ = false;
  bool drained_ = false;
  bool again_ = false;  ///< it was drained, and drains once more on the same connection
  Span waiting_since_;
  Span publishing_since_{};
  std::optional<Instant> lost_, taken_;
  Span drained_at_{}, lost_at_{};
  int short_lives_ = 0;
  Instant first_short_{kNever};
};

}  // namespace plainwater::service
