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
  dispatcher.send(Rank::order, about("order-1"));
  dispatcher.send(Rank::order, about("order-2"));
  CHECK(topics(dispatcher.next()) == Topics{"order-1", "order-2", "notice", "reply", "climate"});
}

TEST_CASE("few are handed over at a time, so that an order does not wait behind a thousand") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  for (int i = 0; i < 1000; ++i) dispatcher.send(Rank::notice, about("notice"));
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

TEST_CASE("a row is to be struck off once the broker has it, refuses it, or it needs no more") {
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

TEST_CASE("replies are bounded, all else is not dropped") {
  Dispatcher dispatcher;
  dispatcher.connected(5);
  for (std::size_t i = 0; i < Dispatcher::kMostReplies; ++i)
    REQUIRE(dispatcher.send(Rank::reply, about("reply")));
  CHECK_FALSE(dispatcher.send(Rank::reply, about("reply")));
  for (std::size_t i = 0; i <= Dispatcher::kMostReplies; ++i)
    REQUIRE(dispatcher.send(Rank::order, about("order")));
  CHECK(dispatcher.rest().size() == 2 * Dispatcher::kMostReplies + 1);
}
