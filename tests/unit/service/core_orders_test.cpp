// Orders, requests and notices on their way out of the core.
#include <catch2/catch.hpp>

#include "core_house.h"
#include "orders/order.h"
#include "peer_order.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

TEST_CASE("no order goes out before the backlog is in, and then one for every bench") {
  CoreHouse house;
  house.bring(ListeningChanged{true});
  house.bring(PublisherChanged{true, 5});
  house.bring(LinkChanged{true});
  house.air(18, house.clock.wall - hours(1), false);
  for (int i = 0; i < 100; ++i) house.tick(minutes(1));
  CHECK(house.to("benches/long/order").empty());
  CHECK(house.to("benches/long/strength").empty());
  house.bring(BacklogDrained{});
  house.acknowledge_all();
  for (const char* bench : {"long", "cold-end"}) {
    const auto order = house.to(std::string("benches/") + bench + "/order");
    REQUIRE(order.size() == 1);
    CHECK(order[0].retain);
    CHECK(order[0].expiry_s == 26 * 3600);
    CHECK(parsed(order[0].payload).at("bench") == bench);
  }
  CHECK(house.said("benches/long/strength") == "0");  // its pump is on advice
  CHECK(house.to("benches/long/strength").at(0).expiry_s == 900U);
  CHECK(house.to("benches/cold-end/strength").empty());  // fed by hand
}

TEST_CASE("a hold is answered, ordered and on its way before anything else waits") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  CHECK(done(house.ask(kHold)));
  REQUIRE(house.published.size() >= 2);
  CHECK(house.published[0].topic == "plainwater/testing/benches/long/order");
  CHECK(parsed(house.said("benches/long/order")).at("feeding") == "plain-water");
  CHECK(parsed(house.said("benches/long/order")).at("hold").is_object());
  CHECK(house.last.decisions.size() == 1);
  CHECK(house.last.news);
  // The same again: the same answer, and nothing happens.
  CHECK(done(house.ask(kHold)));
  CHECK(house.to("benches/long/order").empty());
}

TEST_CASE("what was acknowledged is struck off the outbox, many at once") {
  CoreHouse house;
  house.connect();
  CHECK(house.outbox_rows() > 0);
  CHECK(house.core->report()->service.on_the_way == house.outbox_rows());
  house.acknowledge_all();
  CHECK(house.outbox_rows() == 0);
  CHECK(house.core->report()->service.on_the_way == 0);
}

TEST_CASE("after a lost connection orders are given anew and notices sent again") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.tick();
  house.acknowledge_all();
  house.forget();
  house.bring(PublisherChanged{false, 0});
  for (int i = 0; i < 36; ++i) {  // six hours far below the bench's floor
    house.tick(minutes(10));
    house.air(2, house.clock.wall);
  }
  CHECK(house.published.empty());
  CHECK(house.outbox_rows() > 0);
  house.bring(PublisherChanged{true, 5});
  house.acknowledge_all();
  CHECK(parsed(house.said("benches/long/order")).at("cause") == "chill");
  CHECK_THAT(house.said("notices/urgent"), Contains("long"));
  CHECK(house.outbox_rows() == 0);
}

TEST_CASE("over MQTT 3.1.1 orders are repeated and not retained") {
  CoreHouse house;
  house.connect(3);
  house.air(18, house.clock.wall);
  house.acknowledge_all();
  REQUIRE(house.to("benches/long/order").size() == 1);
  CHECK_FALSE(house.to("benches/long/order")[0].retain);
  house.tick();
  house.acknowledge_all();
  house.forget();
  for (int i = 0; i < 300; ++i) house.tick();
  CHECK(house.to("benches/long/order").size() == 1);
  CHECK(house.to("benches/long/placard").size() == 1);
  CHECK(house.to("benches/long/strength").size() == 1);
}

TEST_CASE("orders are given again at each full hour") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  house.forget();
  house.tick(minutes(59));
  CHECK(house.to("benches/long/order").empty());
  house.tick(minutes(1));
  CHECK(house.to("benches/long/order").size() == 1);
}

TEST_CASE("what falls due before an hour that has struck does not go out beside the hour's order") {
  // Another service, whose clock ticked first, has given the hour's already.
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.tick(minutes(10));
  for (int i = 0; i < 3; ++i) {
    house.tick();
    house.air(2, house.clock.wall);  // far below the floor: answered when it has lasted
  }
  house.acknowledge_all();
  house.forget();
  house.pass(hours(1));
  house.air(18, house.clock.wall);
  house.acknowledge_all();
  const auto given = house.to("benches/long/order");
  REQUIRE(given.size() == 1);
  CHECK(parsed(given[0].payload).at("cause") == "chill");
  const auto hour = at("2026-09-01T13:00:00Z");
  CHECK(parsed(given[0].payload).at("sequence").as_int64() == to_seconds(hour));
}

TEST_CASE("our order is not published over a newer one of another service") {
  CoreHouse house;
  house.bring(ListeningChanged{true});
  house.bring(PublisherChanged{true, 5});
  house.bring(LinkChanged{true});
  orders::Order other;
  other.content.bench = "long";
  other.issued = house.clock.wall;
  other.valid_until = house.clock.wall + hours(26);
  other.number = {1, to_seconds(house.clock.wall) + 600};
  other.instance = "spare";
  house.message("plainwater/testing/benches/long/order", to_json(other), false, true);
  house.bring(BacklogDrained{});
  house.acknowledge_all();
  CHECK(house.to("benches/long/order").empty());
  CHECK(house.to("benches/cold-end/order").size() == 1);
  CHECK(house.logged("the broker holds a newer one"));
  house.tick();
  CHECK(house.outbox_rows() == 0);
  const auto report = house.core->report();
  CHECK_FALSE(report->orders.at("long").in_force(report->service.now));
  CHECK(report->orders.at("cold-end").in_force(report->service.now));
}

TEST_CASE("requests are answered by their faults, and only where replies belong") {
  CoreHouse house;
  house.connect();
  CHECK(problem(house.ask("{")) == "not-json");
  CHECK(problem(house.ask(R"({"id":"1","who":"a","request":"hold","bench":"none"})")) ==
        "unknown-bench");
  CHECK(house.core->report()->service.refused_requests.at("unknown-bench") == 1);
  house.forget();
  const std::string topic = "plainwater/testing/requests";
  broker::Message message;
  message.topic = topic;
  message.payload = kHold;
  message.after_fence = true;
  message.response_topic = "plainwater/testing/benches/long/order";
  house.bring(message);
  CHECK(house.to("benches/long/order").size() == 1);  // the hold's own
  CHECK(house.core->report()->counts.reply_topics_refused == 1);
  house.forget();
  house.message(topic, R"({"id":"r","who":"a","request":"release","bench":"long"})", true, true);
  CHECK(house.published.empty());
  CHECK(house.core->report()->benches[1].hold.has_value());
}

TEST_CASE("a notice is acknowledged by its id, the house's own too") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.bring(Took{std::chrono::seconds(2), true});
  house.tick();
  REQUIRE(house.core->report()->open.contains("store-slow"));
  CHECK(done(
      house.ask(R"({"id":"a-1","who":"Ines","request":"acknowledge","notice":"store-slow"})")));
  CHECK(house.core->report()->open.at("store-slow").acknowledged_by == "Ines");
  CHECK(problem(
            house.ask(R"({"id":"a-2","who":"Ines","request":"acknowledge","notice":"no-such"})")) ==
        "unknown-notice");
}

TEST_CASE("what was refused is not told for ever when another service's order took its place") {
  CoreHouse house;
  house.connect();
  house.bring(PublisherChanged{true, 5});
  for (std::size_t i = 0; i < house.published.size(); ++i)
    house.bring(Refused{house.published[i].id, "not authorised"});
  REQUIRE(house.core->report()->service.refused_orders > 0);
  house.forget();
  house.bring(PublisherChanged{false, 0});
  for (const std::string bench : {"long", "cold-end"}) {
    auto other = peer_order(house, {1, to_seconds(house.clock.wall) + 60});
    other.content.bench = bench;
    house.message("plainwater/testing/benches/" + bench + "/order", to_json(other));
  }
  house.bring(PublisherChanged{true, 5});
  for (int i = 0; i < 60; ++i) {
    house.tick(seconds(10));
    house.acknowledge_all();
  }
  CHECK(house.core->report()->service.refused_orders == 0);
}
