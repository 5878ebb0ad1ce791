// Where the service stands with its broker: is the backlog in, since when is the broker away, may
// nights close, may orders go out. Pure; times come in.
#pragma once

#include <optional>

#include "common/instant.h"

namespace plainwater::service {

class BrokerSession {
 public:
  /// A broker that hands over no backlog for so long counts as gone: nights close as they are.
  static constexpr Span kBacklogPatience = hours(24);
  /// Connections that end so soon after their backlog is in, that are made again so soon, and so
  /// many of them in a row, look as if another client came by our id each time: mosquitto 2.0.11
  /// ends ours without a word. A broker that restarts is away for longer, or less often.
  static constexpr Span kShortLife = seconds(5);
  static constexpr Span kShortGap = seconds(10);
  static constexpr int kShortLives = 10;

  /// `since_boot`: see clock::ClockSample; here and below.
  explicit BrokerSession(Span since_boot) : waiting_since_(since_boot) {}

  /// The runtime listens from now on, or ceased to of our own will.
  void listening_changed(bool listening, Span since_boot);
  void connected(Span since_boot);
  /// Our other client can publish from now on.
  void publishing(Span since_boot) { publishing_since_ = since_boot; }
  /// `engine_now`: what a gap is told to have begun at.
  void lost(Span since_boot, Instant engine_now);
  void drained(Span since_boot);
  /// Another client got a session of ours, between `since` and now: it may have been handed what
  /// was for us. More of it before the backlog is in is one takeover.
  void taken(Instant since);

  bool is_connected() const { return connected_; }
  bool is_drained() const { return drained_; }
  /// No night closes before the backlog is in, since it may hold that night's readings; a broker
  /// that is gone for a day is another matter. While it was us who did not listen, however long, it
  /// was not gone.
  bool may_nights_close(Span since_boot) const;
  /// The wait for the backlog lasts longer than this while we listen and can publish: while the
  /// broker is away altogether nothing can come.
  bool waits_longer_than(Span patience, Span since_boot) const;
  /// Since when (engine time) the broker was away, once, when it is back.
  std::optional<Instant> take_gap();
  /// Since when (engine time) connections have been short, once, when there were too many.
  std::optional<Instant> take_suspicion();
  /// Since when (engine time) a session was in other hands, once, when the backlog is in.
  std::optional<Instant> take_takeover();

 private:
  bool listening_ = false;
  bool connected_ = false;
  bool drained_ = false;
  Span waiting_since_;
  Span publishing_since_{};
  std::optional<Instant> lost_, taken_;
  Span drained_at_{}, lost_at_{};
  int short_lives_ = 0;
  Instant first_short_{kNever};
};

}  // namespace plainwater::service
