#include "service/broker_session.h"

#include <algorithm>
#include <utility>

namespace plainwater::service {

void BrokerSession::listening_changed(bool listening, Span since_boot) {
  listening_ = listening;
  if (listening)
    waiting_since_ = since_boot;
  else {
    lost_.reset();  // it was us, not the broker
    short_lives_ = 0;
  }
}

void BrokerSession::lost(Span since_boot, Instant engine_now) {
  connected_ = false;
  lost_at_ = since_boot;
  // A connection that comes and goes without handing over its backlog does not restart the wait.
  if (drained_ || again_) {
    waiting_since_ = since_boot;
    lost_ = engine_now;
    if (since_boot - drained_at_ >= kShortLife)
      short_lives_ = 0;
    else if (short_lives_++ == 0)
      first_short_ = engine_now;
  }
  drained_ = again_ = false;
}

void BrokerSession::connected(Span since_boot) {
  connected_ = true;
  if (since_boot - lost_at_ >= kShortGap) short_lives_ = 0;
}

void BrokerSession::drained(Span since_boot) {
  drained_ = true;
  again_ = false;
  drained_at_ = since_boot;
}

void BrokerSession::begins_again(Span since_boot) {
  if (drained_) waiting_since_ = since_boot;
  again_ = again_ || drained_;
  drained_ = false;
}

std::optional<Instant> BrokerSession::take_suspicion() {
  if (short_lives_ < kShortLives) return std::nullopt;
  short_lives_ = 0;
  return first_short_;
}

bool BrokerSession::may_nights_close(Span since_boot) const {
  return drained_ || (listening_ && since_boot - waiting_since_ >= kBacklogPatience);
}

bool BrokerSession::waits_longer_than(Span patience, Span since_boot) const {
  return !drained_ && listening_ &&
         since_boot - std::max(waiting_since_, publishing_since_) > patience;
}

std::optional<Instant> BrokerSession::take_gap() { return std::exchange(lost_, std::nullopt); }

void BrokerSession::taken(Instant since) {
  if (!taken_) taken_ = since;
}

std::optional<Instant> BrokerSession::take_takeover() {
  return drained_ ? std::exchange(taken_, std::nullopt) : std::nullopt;
}

}  // namespace plainwater::service
