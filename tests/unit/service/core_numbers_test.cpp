// The numbers of our orders beside those that others gave, and beside time.
#include <catch2/catch.hpp>

#include "core_house.h"
#include "orders/order.h"
#include "peer_order.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

constexpr const char* kOrderOfLong = "plainwater/testing/benches/long/order";

std::string request(int id, const std::string& kind) {
  return R"({"id":"r-)" + std::to_string(id) + R"(","who":"Ines","request":")" + kind +
         R"(","bench":"long"})";
}

/// Connected, but what the broker holds comes first.
void connect_with(CoreHouse& house, const std::string& retained) {
  house.bring(ListeningChanged{true});
  house.bring(PublisherChanged{true, 5});
  house.bring(LinkChanged{true});
  house.message(kOrderOfLong, retained, false, true);
  house.bring(BacklogDrained{});
  house.acknowledge_all();
}

std::int64_t number_of(const std::string& order, const char* part = "sequence") {
  return parsed(order).at(part).as_int64();
}

}  // namespace

TEST_CASE("what a burst of requests leaves at the broker is known as our own after a kill") {
  CoreHouse house;
  house.connect();
  house.tick();
  std::string last;
  for (int i = 0; i < 600; ++i) {
    REQUIRE(done(house.ask(request(i, i % 2 == 0 ? "hold" : "release"))));
    house.acknowledge_all();
    if (const auto order = house.said("benches/long/order"); !order.empty()) last = order;
    if (i % 20 == 0) house.pass(seconds(1));
  }
  // Its numbers stay near the time, so that another service's orders are not silenced by them.
  CHECK(number_of(last) <= to_seconds(house.clock.wall) + 120);
  for (int i = 0; i < 120 && house.said("benches/long/order").empty(); ++i) house.tick();
  house.tick(seconds(60));
  house.acknowledge_all();
  if (const auto order = house.said("benches/long/order"); !order.empty()) last = order;
  CHECK(parsed(last).at("hold").is_null());  // the last word goes out, if a little later

  REQUIRE(done(house.ask(request(1000, "hold"))));
  house.acknowledge_all();
  last = house.said("benches/long/order");
  house.restart();
  house.forget();
  connect_with(house, last);
  const auto order = house.said("benches/long/order");
  REQUIRE_FALSE(order.empty());
  CHECK(number_of(order) > number_of(last));
  CHECK_FALSE(house.logged("is not published"));
  CHECK(done(house.ask(request(1001, "release"))));
  CHECK(parsed(house.said("benches/long/order")).at("hold").is_null());
}

TEST_CASE("orders of an older program, far ahead of time, are our own by the store's age") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  auto old = parsed(house.said("benches/long/order"));
  old.erase("store");
  old.erase("lineage");
  old["sequence"] = to_seconds(house.clock.wall) + 600;
  house.restart();
  house.forget();
  connect_with(house, boost::json::serialize(old));
  REQUIRE(house.to("benches/long/order").size() == 1);
  CHECK(number_of(house.said("benches/long/order")) == old["sequence"].as_int64() + 1);
  CHECK(number_of(house.said("benches/long/order"), "epoch") == 1);
}

TEST_CASE("changes of one bench wait while its numbers run ahead, plain water never") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  std::size_t given = 0;
  for (int id = 0; id < 200; ++id) {
    house.ask(request(id, id % 2 == 0 ? "hold" : "release"));
    house.acknowledge_all();
    given += house.to("benches/long/order").size();
  }
  CHECK(given >= 60);
  CHECK(given <= 63);
  // Released as it ended, it is ordered so once time has caught up, with no request or decision.
  house.forget();
  house.tick(minutes(2));
  CHECK(parsed(house.said("benches/long/order")).at("hold").is_null());
}

TEST_CASE("an order a year ahead is overruled, told of, and stays overruled after a restart") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  const bool retained_first = GENERATE(false, true);
  auto forged = peer_order(house, {1, to_seconds(house.clock.wall + 365 * kDay)});
  forged.valid_until = house.clock.wall + 366 * kDay;
  const auto at_the_broker = GENERATE_COPY(true, false) ? to_json(forged) : [&] {
    auto ended = forged;  // a pump remembers its number all the same
    ended.valid_until = house.clock.wall - hours(1);
    return to_json(ended);
  }();
  house.forget();
  if (retained_first) {
    house.restart();
    connect_with(house, at_the_broker);
  } else {
    house.message(kOrderOfLong, at_the_broker);
    house.acknowledge_all();
  }
  house.tick();
  house.acknowledge_all();
  REQUIRE(house.to("benches/long/order").size() == 1);
  const auto ours = house.said("benches/long/order");
  CHECK(number_of(ours, "epoch") == 2);
  CHECK(number_of(ours) <= to_seconds(house.clock.wall));
  CHECK(parsed(ours).at("instance") == "main");
  CHECK_THAT(house.said("notices/urgent"), Contains("long") && Contains("peer"));
  CHECK(parsed(house.said("notices/urgent/json")).at("kind") == "order-overruled");
  const auto report = house.core->report();
  CHECK(report->orders.at("long").in_force(report->service.now));

  // The broker has lost it; a pump may still remember it.
  house.restart();
  house.forget();
  house.connect();
  CHECK(number_of(house.said("benches/long/order"), "epoch") == 2);
}

TEST_CASE("an order within reason of the same broker binds, one a moment beyond it does not") {
  CoreHouse house;
  house.connect();
  house.warm_night();
  house.acknowledge_all();
  const auto at = to_seconds(house.clock.wall);
  house.forget();
  house.message(kOrderOfLong, to_json(peer_order(house, {1, at + 15 * 60})));
  CHECK(house.to("benches/long/order").empty());
  CHECK_FALSE(house.core->report()->orders.at("long").in_force(house.clock.wall));
  house.pass(seconds(2));
  house.message(kOrderOfLong, to_json(peer_order(house, {1, at + 15 * 60 + 3})));
  CHECK(number_of(house.said("benches/long/order"), "epoch") == 2);
}

TEST_CASE("no clock, no judgement: what we do not believe overrules nobody") {
  CoreHouse house;
  house.clock.synchronised = false;
  house.connect();
  house.tick();
  house.clock.wall += 20 * kDay;  // nobody says that it is so
  house.tick();
  REQUIRE_FALSE(house.core->report()->service.clock_settled);
  house.acknowledge_all();
  house.forget();
  house.message(kOrderOfLong, to_json(peer_order(house, {1, to_seconds(house.clock.wall)})));
  house.tick();
  CHECK(house.to("benches/long/order").empty());
  CHECK_FALSE(house.logged("beyond reason"));
}

TEST_CASE("a stream of orders beyond reason is overruled once a second and told once an hour") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  house.forget();
  for (int i = 0; i < 500; ++i) {
    const auto epoch = 1 + i;
    house.message(kOrderOfLong,
                  to_json(peer_order(house, {epoch, to_seconds(house.clock.wall + 30 * kDay)})));
  }
  house.tick();
  house.acknowledge_all();
  CHECK(house.to("benches/long/order").size() <= 2);
  CHECK(number_of(house.said("benches/long/order"), "epoch") == 501);
  CHECK(house.to("notices/urgent").size() == 1);
}

TEST_CASE("an epoch beyond the bound is no order, and the highest one is told to be past help") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  house.forget();
  const auto now = to_seconds(house.clock.wall);
  house.message(kOrderOfLong, to_json(peer_order(house, {orders::kMostEpoch + 1, now})));
  house.acknowledge_all();
  // Pumps are in doubt since it came: ours is given again.
  REQUIRE(house.to("benches/long/order").size() == 1);
  CHECK(number_of(house.said("benches/long/order"), "epoch") == 1);
  house.forget();
  house.pass(hours(2));
  house.message(kOrderOfLong, to_json(peer_order(house, {orders::kMostEpoch, now + 365 * 86'400})));
  house.acknowledge_all();
  CHECK(number_of(house.said("benches/long/order"), "epoch") == orders::kMostEpoch);
  CHECK_THAT(house.said("notices/urgent"), Contains("No number is higher"));
}

TEST_CASE("an order that claims an older store for years binds no longer than one may be valid") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  auto forged = peer_order(house, {1, to_seconds(house.clock.wall) - 10});
  forged.history_since = at("2024-02-01T00:00:00Z");
  forged.valid_until = at("2099-01-01T00:00:00Z");
  house.forget();
  house.message(kOrderOfLong, to_json(forged));
  house.acknowledge_all();
  CHECK(house.to("benches/long/order").size() == 1);
  CHECK_THAT(house.said("notices/urgent"), Contains("2099"));
}

TEST_CASE("an older store whose clock was wrong still keeps feed back") {
  CoreHouse house;
  house.connect();
  for (int hour = 0; hour < 48; ++hour) {
    house.air(18, house.clock.wall);
    house.tick(hours(1));
    house.acknowledge_all();
  }
  REQUIRE(parsed(house.said("benches/long/order")).at("stock").as_string() == "open");
  auto held = peer_order(house, {1, to_seconds(house.clock.wall) + 16 * 60});
  held.content.feeding = feeding::Feeding::plain_water;
  held.content.strength_percent = 0;
  held.history_since = at("2026-01-01T00:00:00Z");
  house.forget();
  house.message(kOrderOfLong, to_json(held));
  for (int i = 0; i < 10; ++i) {
    house.tick(minutes(30));
    house.acknowledge_all();
  }
  CHECK(house.to("benches/long/order").empty());
  // It knew of a hold; when its order has expired, ours counts again.
  for (int i = 0; i < 25; ++i) {
    house.air(18, house.clock.wall);
    house.tick(hours(1));
    house.acknowledge_all();
  }
  CHECK_FALSE(house.to("benches/long/order").empty());
}

TEST_CASE("an order far ahead that claims an older store keeps no plain water back") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  auto forged = peer_order(house, {1, to_seconds(house.clock.wall) + 40'000'000});
  forged.valid_until = house.clock.wall + hours(160);
  forged.history_since = at("2026-01-01T00:00:00Z");
  for (const bool again : {false, true}) {  // as after each connection, when it is still retained
    CAPTURE(again);
    house.message(kOrderOfLong, to_json(forged));
    house.tick();
    house.acknowledge_all();
    REQUIRE(done(house.ask(request(again ? 3 : 1, "hold"))));
    house.acknowledge_all();
    CHECK_FALSE(house.said("benches/long/order").empty());
    CHECK(done(house.ask(request(again ? 4 : 2, "release"))));
    house.acknowledge_all();
    house.tick(minutes(2));
  }
}

TEST_CASE("a number that a pump remembers is outranked after a restart, whoever wrote it") {
  CoreHouse house;
  house.connect();
  house.warm_night();
  house.acknowledge_all();
  const auto ours = house.said("benches/long/order");
  const bool in_our_name = GENERATE(false, true);
  auto forged =
      peer_order(house, {parsed(ours).at("epoch").as_int64(), to_seconds(house.clock.wall) + 600});
  if (in_our_name) {
    forged.instance = "main";
    const auto stamp = orders::read_stamp(ours);
    REQUIRE(stamp);
    forged.store = stamp->store;
  }
  house.message(kOrderOfLong, orders::to_json(forged));

  // Our own order, already on its way, took its place at the broker.
  house.restart();
  house.forget();
  connect_with(house, ours);
  house.forget();
  REQUIRE(done(house.ask(request(1, "hold"))));
  house.tick();
  const auto order = house.said("benches/long/order");
  REQUIRE_FALSE(order.empty());
  CHECK(number_of(order) > forged.number.sequence);
}
