// Plain water beside what other services order: it yields only to an older store that is heard.
#include "service/elders.h"

#include <catch2/catch.hpp>

#include "core_house.h"
#include "orders/order.h"
#include "peer_order.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;

namespace {

constexpr const char* kPeer = "plainwater/testing/service/peer";
const Instant kElderBegan = at("2026-08-01T00:00:00Z");

outlet::Alive of(std::optional<Instant> since, bool aside = false, bool drains = false) {
  return {"00000000000000aa", "2222222222222222", since, aside, drains};
}

std::string peers_heartbeat(Instant since, bool drained = true) {
  status::Service state;
  state.instance = "peer";
  state.store_id = "00000000000000aa";
  state.run = "2222222222222222";
  state.history_since = since;
  state.drained = drained;
  return outlet::online_json(state);
}

std::int64_t epoch(const CoreHouse& house) {
  const auto report = house.core->report();
  const auto given = report->orders.find("long");
  return given == report->orders.end() ? 1 : given->second.order.number.epoch;
}

/// An order of a peer that feeds the bench, so many seconds ahead of time.
std::string feeding_order(const CoreHouse& house, std::int64_t ahead_s,
                          std::optional<Instant> since = std::nullopt) {
  auto order = peer_order(house, {epoch(house), to_seconds(house.clock.wall) + ahead_s});
  order.history_since = since;
  return orders::to_json(order);
}

/// The newest order that the broker got of us since `forget`; none: an empty one.
orders::OrderNumber ordered(const CoreHouse& house) {
  const auto said = house.said("benches/long/order");
  if (said.empty()) return {};
  CHECK(parsed(said).at("stock").as_string() == "locked");
  return orders::read_stamp(said)->number;
}

/// So many minutes of ticks; the peer is heard each minute when `alive`.
void minutes_pass(CoreHouse& house, int count, bool alive, Instant since = kElderBegan) {
  for (int i = 0; i < count; ++i) {
    if (alive) house.message(kPeer, peers_heartbeat(since));
    for (int s = 0; s < 6; ++s) house.tick(seconds(10));
    house.acknowledge_all();
  }
}

/// Connected, and the bench must have plain water.
void hold(CoreHouse& house) {
  house.connect();
  house.tick();
  REQUIRE(done(house.ask(kHold)));
}

/// Its store began before ours, or a day after.
constexpr bool kElder = true, kYounger = false;
Instant beginning(const CoreHouse& house, bool elder) {
  return elder ? kElderBegan : house.clock.wall + kDay;
}

}  // namespace

TEST_CASE("an elder is alive until three minutes of hearing went by without a word of it") {
  Elders elders;
  elders.history_since(kElderBegan + kDay);
  Span now = hours(1);
  elders.look(now, false);
  CHECK_FALSE(elders.alive());  // who else is there is not known yet
  elders.look(now, true);
  elders.heard("main", of(kElderBegan));
  elders.heard("younger", of(kElderBegan + kDay));
  elders.heard("nameless", of(std::nullopt));
  elders.heard("aside", of(kElderBegan, true));
  elders.heard("draining", of(kElderBegan, false, true));
  CHECK(elders.alive() == std::set<std::string>{"main"});
  for (int i = 0; i < 17; ++i) elders.look(now += seconds(10), true);
  elders.heard("main", of(kElderBegan));
  elders.look(now += seconds(10), true);
  CHECK(elders.alive() == std::set<std::string>{"main"});
  for (int i = 0; i < 16; ++i) elders.look(now += seconds(10), true);
  CHECK(elders.alive() == std::set<std::string>{"main"});
  elders.look(now += seconds(10), true);
  CHECK(elders.alive() == std::set<std::string>{});
}

TEST_CASE("after a sleep of the machine, or a lost link, others get time to be heard") {
  Elders elders;
  elders.history_since(kElderBegan + kDay);
  Span now = hours(1);
  for (int i = 0; i < 30; ++i) {
    elders.heard("main", of(kElderBegan));
    elders.look(now += seconds(10), true);
  }
  elders.look(now += hours(8), true);
  CHECK(elders.alive() == std::set<std::string>{"main"});
  // A link that flaps makes nobody alive for ever.
  for (int i = 0; i < 15; ++i) {
    elders.look(now += hours(1), false);
    elders.look(now += seconds(1), true);
    elders.look(now += seconds(10), true);
    CHECK(elders.alive() == std::set<std::string>{"main"});
  }
  elders.look(now += seconds(10), true);
  CHECK(elders.alive() == std::set<std::string>{});
}

TEST_CASE("an order that would feed a bench with plain water is answered at once") {
  for (const std::int64_t ahead : {-50, 0, 1, 600}) {
    for (const bool elder : {kElder, kYounger}) {
      INFO(ahead << " s ahead, elder " << elder);
      CoreHouse house;
      hold(house);
      minutes_pass(house, 4, false);
      const auto since = beginning(house, elder);
      house.forget();
      house.message("plainwater/testing/benches/long/order", feeding_order(house, ahead, since));
      for (int i = 0; i < 2; ++i) house.tick();
      const auto number = ordered(house);
      CHECK(number > orders::OrderNumber{epoch(house), to_seconds(house.clock.wall) + ahead - 5});
      CHECK_FALSE(house.core->report()->orders.at("long").outdated);
      CHECK(house.logged("an order of peer would feed it"));
    }
  }
}

TEST_CASE("plain water decided after a peer's order ahead of time goes before it") {
  CoreHouse house;
  hold(house);
  minutes_pass(house, 4, false);
  house.message("plainwater/testing/benches/long/order", feeding_order(house, 600));
  house.tick();
  house.acknowledge_all();
  const auto first = ordered(house);
  CHECK(first.sequence > to_seconds(house.clock.wall) + 590);
  // Our own echo, and the peer's once more: one answer, and no end of them.
  house.message("plainwater/testing/benches/long/order", house.said("benches/long/order"));
  house.forget();
  for (int i = 0; i < 20; ++i) house.tick();
  CHECK(house.to("benches/long/order").empty());
}

TEST_CASE("plain water yields to an older store that is heard, and no longer than that") {
  CoreHouse house;
  hold(house);
  minutes_pass(house, 4, true);
  house.forget();
  house.message("plainwater/testing/benches/long/order", feeding_order(house, 30, kElderBegan));
  minutes_pass(house, 3, true);
  CHECK(house.to("benches/long/order").empty());
  CHECK(house.core->report()->orders.at("long").outdated);
  minutes_pass(house, 3, false);
  CHECK(ordered(house).sequence > 0);
  CHECK_FALSE(house.core->report()->orders.at("long").outdated);
}

TEST_CASE(
    "after a start plain water waits for an older store only if the broker says that it is there") {
  for (const bool there : {false, true}) {
    CAPTURE(there);
    CoreHouse house;
    house.bring(ListeningChanged{true});
    house.bring(PublisherChanged{true, 5});
    house.bring(LinkChanged{true});
    // Waited for us: of long ago.
    house.message(kPeer, peers_heartbeat(kElderBegan), false);
    if (there) house.message(kPeer, peers_heartbeat(kElderBegan), false, true);
    house.message("plainwater/testing/benches/long/order", feeding_order(house, 10, kElderBegan),
                  false, true);
    house.bring(BacklogDrained{});
    house.tick();
    house.forget();
    REQUIRE(done(house.ask(kHold)));
    for (int i = 0; i < 2; ++i) house.tick();
    CHECK(house.to("benches/long/order").empty() == there);
  }
}

TEST_CASE("an expired order of an older store that is not there does not stay at the broker") {
  CoreHouse house;
  house.connect();
  REQUIRE(done(house.ask(kHold)));
  house.acknowledge_all();
  auto order = peer_order(house, {1, to_seconds(house.clock.wall) - 1});
  order.valid_until = house.clock.wall - hours(1);
  order.history_since = kElderBegan;
  house.message("plainwater/testing/benches/long/order", orders::to_json(order));
  house.forget();
  for (int i = 0; i < 3; ++i) house.tick();
  CHECK(ordered(house).sequence > 0);
}

TEST_CASE("plain water goes before a peer's feed while the clock is doubted, too") {
  CoreHouse house;
  hold(house);
  house.clock.wall += 90 * kDay;  // nobody agrees with that
  house.tick();
  REQUIRE_FALSE(house.core->report()->service.clock_settled);
  house.clock.wall -= 90 * kDay;
  const auto order = feeding_order(house, 100);
  house.clock.wall += 90 * kDay;
  house.forget();
  house.message("plainwater/testing/benches/long/order", order);
  for (int i = 0; i < 2; ++i) house.tick();
  CHECK(ordered(house) > orders::read_stamp(order)->number);
}
