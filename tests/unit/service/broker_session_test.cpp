#include "service/broker_session.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::service;

namespace {

const Instant kNoon = from_seconds(1'790'000'000);

}  // namespace

TEST_CASE("no night closes before the backlog is in, for a day of listening") {
  BrokerSession session(seconds(0));
  CHECK_FALSE(session.may_nights_close(hours(100)));  // it is us who do not listen
  session.listening_changed(true, hours(100));
  CHECK_FALSE(session.may_nights_close(hours(100)));
  CHECK_FALSE(session.may_nights_close(hours(124) - milliseconds(1)));
  CHECK(session.may_nights_close(hours(124)));
  session.drained(hours(101));
  CHECK(session.may_nights_close(hours(101)));
}

TEST_CASE("a connection that comes and goes without its backlog does not begin the wait anew") {
  BrokerSession session(seconds(0));
  session.listening_changed(true, seconds(0));
  for (int i = 1; i < 24; ++i) {
    session.connected(seconds(1));
    session.lost(hours(i), kNoon);
    CHECK_FALSE(session.take_gap());
  }
  CHECK(session.may_nights_close(hours(24)));
}

TEST_CASE("the loss of a drained connection begins the wait, and is told once when it is over") {
  BrokerSession session(seconds(0));
  session.listening_changed(true, seconds(0));
  session.connected(seconds(1));
  session.drained(minutes(1));
  CHECK(session.is_connected());
  session.lost(hours(30), kNoon);
  CHECK_FALSE(session.is_connected());
  CHECK_FALSE(session.is_drained());
  CHECK_FALSE(session.may_nights_close(hours(53)));
  CHECK(session.waits_longer_than(minutes(10), hours(31)));
  CHECK_FALSE(session.waits_longer_than(hours(2), hours(31)));
  session.connected(seconds(1));
  session.lost(hours(40), kNoon + hours(10));  // without a backlog: the gap goes on
  session.drained(hours(40));
  CHECK(session.take_gap() == kNoon);
  CHECK_FALSE(session.take_gap());
}

TEST_CASE("while we do not listen the broker is not away") {
  BrokerSession session(seconds(0));
  session.listening_changed(true, seconds(0));
  session.drained(minutes(1));
  session.lost(hours(1), kNoon);
  session.listening_changed(false, hours(1));
  CHECK_FALSE(session.take_gap());
  CHECK_FALSE(session.waits_longer_than(minutes(1), hours(5)));
  CHECK_FALSE(session.may_nights_close(hours(50)));
  session.listening_changed(true, hours(50));
  CHECK_FALSE(session.may_nights_close(hours(73)));
  CHECK(session.may_nights_close(hours(74)));
}

TEST_CASE("short connections in a row look like another client of our id, others do not") {
  BrokerSession session(seconds(0));
  session.listening_changed(true, seconds(0));
  Span now = hours(1);
  const auto live = [&](Span span, Span away = seconds(1)) {
    session.connected(now);
    session.drained(now);
    now += span;
    session.lost(now, kNoon + now);
    now += away;
  };
  const auto one_too_few = [&] {
    for (int i = 1; i < BrokerSession::kShortLives; ++i) live(seconds(1));
  };
  for (int i = 0; i < 10; ++i) {
    one_too_few();
    live(BrokerSession::kShortLife);
    CHECK_FALSE(session.take_suspicion());
  }
  for (int i = 0; i < 2 * BrokerSession::kShortLives; ++i) {  // the broker restarts
    live(seconds(1), BrokerSession::kShortGap);
    CHECK_FALSE(session.take_suspicion());
  }
  for (int i = 0; i < 10; ++i) session.lost(now, kNoon);  // without a backlog: the broker hangs up
  CHECK_FALSE(session.take_suspicion());
  one_too_few();
  session.listening_changed(false, now);  // our own will
  session.listening_changed(true, now);
  const Instant first = kNoon + now + seconds(1);
  one_too_few();
  CHECK_FALSE(session.take_suspicion());
  live(BrokerSession::kShortLife - Span(1));
  CHECK(session.take_suspicion() == first);
  CHECK_FALSE(session.take_suspicion());
}

TEST_CASE("a takeover is told when the backlog is in, from its beginning") {
  BrokerSession session(seconds(0));
  session.taken(kNoon);
  session.taken(kNoon + hours(1));
  CHECK_FALSE(session.take_takeover());
  session.drained(seconds(1));
  CHECK(session.take_takeover() == kNoon);
  CHECK_FALSE(session.take_takeover());
}

TEST_CASE("after an outage of the broker the wait for its backlog begins when it is back") {
  BrokerSession session(seconds(0));
  session.listening_changed(true, seconds(0));
  session.connected(seconds(1));
  session.drained(minutes(1));
  session.lost(hours(1), kNoon);
  session.publishing(hours(3));
  CHECK_FALSE(session.waits_longer_than(minutes(10), hours(3) + minutes(9)));
  CHECK(session.waits_longer_than(minutes(10), hours(3) + minutes(11)));
}
