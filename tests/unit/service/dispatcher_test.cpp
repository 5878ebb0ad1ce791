#include "service/dispatcher.h"

#include <catch2/catch.hpp>
#include <string>
#include <vector>

using namespace plainwater;
using namespace plainwater::service;

namespace {

broker::Publication about(std::string topic, std::string payload = "") {
  broker::Publication publication;
  publication.topic = std::move(topic);
  publication.payload = std::move(payload);
  return publication;
}

std::vector<std::string> topics(const std::vector<broker::Publication>& publications) {
  std::vector<std::string> all;
  for (const auto& publication : publications) all.push_back(publication.topic);
  return all;
}

using Topics = std::vector<std::string>;

}  // namespace

TEST_CASE("nothing is taken before there is a connection, and nothing outlives it") {
  Dispatcher dispatcher;
  CHECK_FALSE(dispatcher.send(Rank::order, about("a"), 1));
  CHECK(dispatcher.next().empty());
  CHECK(dispatcher.is_on_the_way(1));  // a new connection gives it anew, nobody else
  dispatcher.connected(5);
  CHECK(dispatcher.protocol_version() == 5);
  CHECK_FALSE(dispatcher.is_on_the_way(1));
  CHECK(dispatcher.send(Rank::order, about("b"), 2));
  dispatcher.lost();
  CHECK(dispatcher.next().empty());
  dispatcher.connected(3);
  CHECK(dispatcher.next().empty());
  CHECK(dispatcher.to_strike_off().empty());
}

TEST_CASE("orders overtake notices, these replies, and these the climate") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  dispatcher.send(Rank::state, about("climate"));
  dispatcher.send(Rank::reply, about("reply"));
  dispatcher.send(Rank::notice, about("notice"));
  dispatcher.send(Rank::placard, about("placard"));
  dispatcher.send(Rank::order, about("order-1"));
  dispatcher.send(Rank::order, about("order-2"));
  dispatcher.send(Rank::plain_water, about("order-3"));
  CHECK(topics(dispatcher.next()) ==
        Topics{"order-3", "order-1", "order-2", "placard", "notice", "reply", "climate"});
}

TEST_CASE("of orders the newest that waits goes out, and the older one's row is settled") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  dispatcher.send(Rank::order, about("a", "feed"), 1);
  dispatcher.send(Rank::order, about("b", "feed"), 2);
  dispatcher.send(Rank::plain_water, about("b", "plain"), 3);
  dispatcher.send(Rank::order, about("a", "more feed"), 4);
  CHECK(dispatcher.to_strike_off() == std::set<std::int64_t>{1, 2});
  const auto out = dispatcher.next();
  REQUIRE(topics(out) == Topics{"b", "a"});
  CHECK(out[0].payload == "plain");
  CHECK(out[1].payload == "more feed");
  dispatcher.send(Rank::plain_water, about("c", "plain"), 5);
  dispatcher.send(Rank::order, about("c", "feed"), 6);  // newest wins, whatever it says
  CHECK(dispatcher.next().at(0).payload == "feed");
}

TEST_CASE("while nobody is connected only the newest order of a topic is remembered") {
  Dispatcher dispatcher;
  for (int hour = 1; hour <= 1000; ++hour) {
    dispatcher.send(Rank::order, about("a"), hour);
    dispatcher.struck_off();
  }
  CHECK(dispatcher.unsettled() == 1);
  CHECK(dispatcher.is_on_the_way(1000));
}

TEST_CASE("notices beyond a few wait in the outbox") {
  Dispatcher dispatcher;
  CHECK_FALSE(dispatcher.send(Rank::notice, about("n"), 1));
  CHECK(dispatcher.left() == 1);
  CHECK(dispatcher.room_for_notices() == 0);
  dispatcher.connected(5);
  dispatcher.leave(0);
  for (std::size_t i = 0; i < Dispatcher::kMostNotices; ++i)
    REQUIRE(dispatcher.send(Rank::notice, about("n"), static_cast<std::int64_t>(i + 1)));
  CHECK(dispatcher.room_for_notices() == 0);
  CHECK_FALSE(dispatcher.send(Rank::notice, about("n"), 1000));
  CHECK(dispatcher.left() == 1);
  CHECK(dispatcher.send(Rank::notice, about("of the house")));  // nothing else keeps it
  dispatcher.lost();
  CHECK(dispatcher.left() == Dispatcher::kMostNotices + 1);
  dispatcher.connected(5);
  CHECK(topics(dispatcher.next()) == Topics{"of the house"});
}

TEST_CASE("what is refused is tried again after its pause, or at once when it says something new") {
  Dispatcher dispatcher;
  dispatcher.at(hours(1));
  dispatcher.connected(5);
  dispatcher.send(Rank::plain_water, about("a", "0"), 1);
  dispatcher.refused(dispatcher.next().at(0).id, "quota");
  CHECK(dispatcher.refused_orders() == std::set<std::string>{"a"});
  CHECK(dispatcher.why_refused("a") == "quota");
  CHECK(dispatcher.take_told() == std::vector<std::string>{"not delivered to a: quota"});
  dispatcher.send(Rank::plain_water, about("a", "0"), 2);
  CHECK(dispatcher.next().empty());
  CHECK(dispatcher.to_strike_off() == std::set<std::int64_t>{1});
  dispatcher.at(hours(1) + seconds(5));
  auto out = dispatcher.next();
  REQUIRE(out.size() == 1);
  dispatcher.refused(out[0].id, "quota");
  CHECK(dispatcher.take_told().empty());
  dispatcher.send(Rank::order, about("a", "40"), 3);
  out = dispatcher.next();
  REQUIRE(out.size() == 1);
  CHECK(out[0].payload == "40");
  dispatcher.finished(out[0].id);
  CHECK(dispatcher.refused_orders().empty());
  CHECK(dispatcher.to_strike_off() == std::set<std::int64_t>{1, 2, 3});
}

TEST_CASE("a refused order that a newer one has overtaken is not tried again") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  dispatcher.send(Rank::order, about("a", "old"), 1);
  const auto old = dispatcher.next().at(0).id;
  dispatcher.send(Rank::order, about("a", "new"), 2);
  const auto newer = dispatcher.next().at(0).id;
  dispatcher.refused(old, "quota");
  CHECK(dispatcher.to_strike_off() == std::set<std::int64_t>{1});
  dispatcher.finished(newer);
  dispatcher.at(hours(1));
  CHECK(dispatcher.next().empty());
}

TEST_CASE("a refused notice stays in the outbox, and all of its topic until its pause is over") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  dispatcher.send(Rank::notice, about("n"), 1);
  dispatcher.refused(dispatcher.next().at(0).id, "not authorised");
  CHECK(dispatcher.left() == 1);
  CHECK(dispatcher.is_held_back("n"));
  CHECK_FALSE(dispatcher.send(Rank::notice, about("n"), 2));
  CHECK(dispatcher.send(Rank::notice, about("m"), 3));
  CHECK(dispatcher.left() == 2);
  dispatcher.at(seconds(5));
  CHECK_FALSE(dispatcher.is_held_back("n"));
  CHECK(dispatcher.refused_orders().empty());
}

TEST_CASE("what is too large for the broker never leaves") {
  Dispatcher dispatcher;
  dispatcher.connected(5, 200);
  dispatcher.send(Rank::notice, about("n", std::string(300, 'x')), 1);
  dispatcher.send(Rank::order, about("a", std::string(300, 'x')), 2);
  CHECK_FALSE(dispatcher.send(Rank::reply, about("r", std::string(300, 'x'))));
  dispatcher.send(Rank::order, about("b", "feed"), 3);
  CHECK(topics(dispatcher.next()) == Topics{"b"});
  CHECK(dispatcher.set_aside().count == 1);
  CHECK(dispatcher.to_strike_off() == std::set<std::int64_t>{1});
  CHECK(dispatcher.refused_orders() == std::set<std::string>{"a"});
  CHECK(dispatcher.is_on_the_way(2));
  CHECK(dispatcher.take_told().size() == 2);
}

TEST_CASE("the one that makes the broker hang up is found among many") {
  Dispatcher dispatcher;
  std::int64_t row = 0;
  const auto give = [&] {
    dispatcher.connected(3);
    dispatcher.send(Rank::order, about("a"), ++row);
    dispatcher.send(Rank::order, about("poison"), ++row);
    dispatcher.send(Rank::order, about("b"), ++row);
    dispatcher.send(Rank::notice, about("n"), 1000);
  };
  int connections = 0;
  std::set<std::string> delivered;
  for (bool cut = true; cut && connections < 20; ++connections) {
    give();
    cut = false;
    for (auto out = dispatcher.next(); !out.empty() && !cut; out = dispatcher.next())
      for (const auto& publication : out) {
        if ((cut = publication.topic == "poison")) break;
        delivered.insert(publication.topic);
        dispatcher.finished(publication.id);
      }
    if (cut) dispatcher.lost();
  }
  CHECK(connections <= 2 + Suspects::kMostLosses);
  CHECK(delivered == std::set<std::string>{"a", "b", "n"});
  CHECK(dispatcher.refused_orders() == std::set<std::string>{"poison"});
  // Not for ever: the broker may be another one by then.
  dispatcher.at(hours(1));
  CHECK(topics(dispatcher.next()) == Topics{"poison"});
}

TEST_CASE("a suspect order does not keep plain water waiting") {
  Dispatcher dispatcher;
  dispatcher.connected(3);
  dispatcher.send(Rank::order, about("a"));
  dispatcher.next();
  dispatcher.lost();
  dispatcher.connected(3);
  dispatcher.send(Rank::order, about("a"));
  CHECK(topics(dispatcher.next()) == Topics{"a"});  // by itself
  dispatcher.send(Rank::order, about("b"));
  CHECK(dispatcher.next().empty());
  dispatcher.send(Rank::plain_water, about("c"));
  CHECK(topics(dispatcher.next()) == Topics{"c"});
}

TEST_CASE("the time that a publication waits is taken off its expiry") {
  Dispatcher dispatcher;
  dispatcher.at(seconds(100));
  dispatcher.connected(5);
  auto order = about("a");
  order.expiry_s = 900;
  dispatcher.send(Rank::order, order);
  dispatcher.at(seconds(160));
  const auto out = dispatcher.next();
  REQUIRE(out.size() == 1);
  CHECK(out[0].expiry_s == 840U);
  dispatcher.refused(out[0].id, "quota");
  dispatcher.at(hours(1));
  CHECK(dispatcher.next().at(0).expiry_s == 1U);
}

TEST_CASE("few are handed over at a time, so that an order does not wait behind a thousand") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  for (int i = 0; i < 1000; ++i) dispatcher.send(Rank::reply, about("reply"));
  const auto first = dispatcher.next();
  CHECK(first.size() == Dispatcher::kWindow);
  CHECK(dispatcher.next().empty());
  dispatcher.send(Rank::order, about("order"));
  dispatcher.finished(first[0].id);
  CHECK(topics(dispatcher.next()) == Topics{"order"});
  CHECK(dispatcher.rest().size() == 1000 - Dispatcher::kWindow);
}

TEST_CASE("of what is retained the newest that waits goes out, in the place of the older") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  dispatcher.send(Rank::state, about("a", "old"));
  dispatcher.send(Rank::state, about("b", "b"));
  dispatcher.send(Rank::state, about("a", "new"));
  const auto out = dispatcher.next();
  REQUIRE(topics(out) == Topics{"a", "b"});
  CHECK(out[0].payload == "new");
  dispatcher.send(Rank::state, about("a", "later"));
  dispatcher.send(Rank::state, about("c", "c"));
  dispatcher.send(Rank::state, about("c", "newest"));
  const auto more = dispatcher.next();
  REQUIRE(topics(more) == Topics{"a", "c"});
  CHECK(more[1].payload == "newest");
  dispatcher.lost();
  dispatcher.connected(5);
  dispatcher.send(Rank::state, about("c", "again"));
  CHECK(dispatcher.next().at(0).payload == "again");
}

TEST_CASE("a row is to be struck off once the broker has it, or it needs no more") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  dispatcher.send(Rank::order, about("a"), 11);
  dispatcher.send(Rank::order, about("strength"));
  dispatcher.send(Rank::notice, about("b"), 12);
  const auto out = dispatcher.next();
  CHECK(dispatcher.unsettled() == 2);
  for (const auto& publication : out) dispatcher.finished(publication.id);
  dispatcher.settle(13);
  CHECK(dispatcher.to_strike_off() == std::set<std::int64_t>{11, 12, 13});
  CHECK(dispatcher.unsettled() == 3);
  dispatcher.struck_off();
  CHECK(dispatcher.unsettled() == 0);
}

TEST_CASE("what a lost connection had acknowledged is no news for the next") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  dispatcher.send(Rank::notice, about("a"), 1);
  const auto before = dispatcher.next().at(0).id;
  dispatcher.lost();
  dispatcher.connected(5);
  dispatcher.send(Rank::notice, about("a"), 1);
  const auto after = dispatcher.next().at(0).id;
  CHECK(before != after);
  dispatcher.finished(before);
  CHECK(dispatcher.is_on_the_way(1));
  CHECK(dispatcher.to_strike_off().empty());
}

TEST_CASE("replies are bounded in number and in bytes") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  for (std::size_t i = 0; i < Dispatcher::kMostReplies; ++i)
    REQUIRE(dispatcher.send(Rank::reply, about("reply")));
  CHECK_FALSE(dispatcher.send(Rank::reply, about("reply")));
  dispatcher.connected(5);
  const std::string large(1024 * 1024, 'x');
  std::size_t taken = 0;
  while (taken < 100 && dispatcher.send(Rank::reply, about("reply", large))) ++taken;
  CHECK(taken == Dispatcher::kMostReplyBytes / large.size() - 1);
  CHECK(dispatcher.send(Rank::order, about("order")));
}
