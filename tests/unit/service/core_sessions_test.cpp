// What the core makes of sessions at the broker that others take, or that an upgrade left.
#include <catch2/catch.hpp>

#include "core_house.h"
#include "store/client_keys.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

std::vector<boost::json::object> takeovers(const CoreHouse& house) {
  std::vector<boost::json::object> told;
  for (const auto& publication : house.to("notices/urgent/json"))
    if (parsed(publication.payload).at("kind") == "session-taken")
      told.push_back(parsed(publication.payload));
  return told;
}

CoreHouse& heard(CoreHouse& house) {
  house.connect();
  house.air(18, house.clock.wall);
  house.tick();
  house.acknowledge_all();
  house.forget();
  return house;
}

}  // namespace

TEST_CASE("a session that another client took is given up and told as urgent, with the gap") {
  CoreHouse house;
  heard(house);
  const auto before = house.core->client_keys();
  const Instant taken = house.clock.wall;
  house.bring(SessionTaken{before.own});
  house.bring(LinkChanged{false});
  const auto after = house.core->client_keys();
  CHECK(after.own != before.own);
  CHECK(after.former == std::vector<std::uint64_t>{before.own});
  house.bring(SessionTaken{before.own});  // our other client, a moment later
  CHECK(house.core->client_keys().own == after.own);
  house.tick(seconds(3));
  CHECK(takeovers(house).empty());  // it lasts still
  house.bring(ListeningChanged{false});
  house.bring(ListeningChanged{true});
  house.bring(FormerSessionEnded{before.own, false});
  CHECK(house.core->client_keys().former.empty());
  house.bring(LinkChanged{true});
  house.pass(seconds(2));
  house.bring(BacklogDrained{});
  house.tick();
  REQUIRE(takeovers(house).size() == 1);
  const auto told = takeovers(house)[0];
  CHECK(told.at("urgency") == "urgent");
  CHECK(told.at("evidence").at("from").as_string() == format_rfc3339(taken));
  CHECK(told.at("evidence").at("to").as_string() == format_rfc3339(taken + seconds(5)));
  CHECK_THAT(house.said("notices/urgent"), Contains("connected to the broker as main"));
  house.forget();
  house.bring(LinkChanged{false});
  house.bring(LinkChanged{true});
  house.bring(BacklogDrained{});
  house.tick();
  CHECK(takeovers(house).empty());
  // What the store knows at the next start.
  house.restart();
  CHECK(house.core->client_keys().own == after.own);
  CHECK(house.core->client_keys().former.empty());
}

TEST_CASE("a store from an earlier version is a client without a key until that session is over") {
  CoreHouse house;
  heard(house);
  CHECK(house.core->client_keys().former.empty());
  house.core.reset();
  house.execute("DELETE FROM meta WHERE key LIKE 'client_key/%'");
  house.open();
  CHECK(house.core->client_keys().own != 0);
  CHECK(house.core->client_keys().former == std::vector<std::uint64_t>{0});
  house.restart();
  CHECK(house.core->client_keys().former == std::vector<std::uint64_t>{0});
  house.bring(FormerSessionEnded{0, false});
  CHECK(house.core->client_keys().former.empty());
  house.restart();
  CHECK(house.core->client_keys().former.empty());
}

TEST_CASE("a former session that another client took is told like one of now") {
  CoreHouse house;
  heard(house);
  house.core.reset();
  house.execute("DELETE FROM meta WHERE key LIKE 'client_key/%'");
  house.open();
  house.bring(FormerSessionEnded{0, true});
  house.connect();
  house.tick();
  CHECK(takeovers(house).size() == 1);
  CHECK(house.core->client_keys().former.empty());
}

TEST_CASE("a former session that was not fetched waits for the next start") {
  CoreHouse house;
  heard(house);
  house.core.reset();
  house.execute("DELETE FROM meta WHERE key LIKE 'client_key/%'");
  house.open();
  house.bring(FormerSessionEnded{0, false, true});
  CHECK(house.core->client_keys().former.empty());
  CHECK_FALSE(house.logged("is in"));
  house.connect();
  house.tick();
  CHECK(takeovers(house).empty());
  // Another id does not bring it back before.
  const auto own = house.core->client_keys().own;
  house.bring(SessionTaken{own});
  CHECK(house.core->client_keys().former == std::vector<std::uint64_t>{own});
  house.restart();
  const auto former = house.core->client_keys().former;
  CHECK(std::ranges::count(former, std::uint64_t{0}) == 1);
  CHECK(former.size() == 2);
}

TEST_CASE("with a store that fails a taken id is kept, and told of") {
  CoreHouse house;
  heard(house);
  const auto before = house.core->client_keys();
  house.execute("ALTER TABLE meta RENAME TO gone_meta");
  house.bring(SessionTaken{before.own});
  CHECK(house.core->client_keys().own == before.own);
  CHECK(house.logged("a new one cannot be stored"));
  house.execute("ALTER TABLE gone_meta RENAME TO meta");
  house.tick(seconds(5));
  REQUIRE(house.core->report()->service.store_usable);
  house.bring(LinkChanged{false});
  house.bring(LinkChanged{true});
  house.bring(BacklogDrained{});
  house.tick();
  REQUIRE(takeovers(house).size() == 1);
  CHECK_THAT(house.said("notices/urgent"), Contains("We still have the client id of before") &&
                                               !Contains("We have another client id now"));
  // The next time a new one can be stored.
  house.forget();
  house.bring(SessionTaken{before.own});
  house.bring(LinkChanged{false});
  house.bring(LinkChanged{true});
  house.bring(BacklogDrained{});
  house.tick();
  CHECK(house.core->client_keys().own != before.own);
  REQUIRE(takeovers(house).size() == 1);
  CHECK_THAT(house.said("notices/urgent"), Contains("We have another client id now"));
}

TEST_CASE("a client that is thrown out again and again takes another id, once an hour") {
  CoreHouse house;
  heard(house);
  const auto thrown_out = [&] {
    for (int i = 0; i < BrokerSession::kShortLives; ++i) {
      house.pass(seconds(1));
      house.bring(LinkChanged{false});
      house.pass(seconds(1));
      house.bring(LinkChanged{true});
      house.bring(BacklogDrained{});
      house.acknowledge_all();
    }
    house.tick();
  };
  house.bring(LinkChanged{false});
  house.bring(LinkChanged{true});
  house.bring(BacklogDrained{});
  auto key = house.core->client_keys().own;
  thrown_out();
  CHECK(house.core->client_keys().own != key);
  CHECK(takeovers(house).size() == 1);
  key = house.core->client_keys().own;
  thrown_out();
  thrown_out();
  CHECK(house.core->client_keys().own == key);
  house.pass(hours(1));
  thrown_out();
  thrown_out();
  CHECK(house.core->client_keys().own != key);
}
