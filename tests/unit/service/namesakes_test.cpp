// Two services under one name: who stands aside, when, and until when.
#include "service/namesakes.h"

#include <catch2/catch.hpp>

#include "core_house.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;
using outlet::Alive;

namespace {

constexpr const char* kService = "plainwater/testing/service/main";
const Instant kBegan = at("2026-08-01T00:00:00Z");

Alive with(std::optional<Instant> since, std::string store, std::string run) {
  return {std::move(store), std::move(run), since};
}

/// What another service under our name says of itself.
std::string heartbeat(std::optional<Instant> since, const std::string& aside_for = "",
                      const std::string& run = "2222222222222222") {
  status::Service state;
  state.instance = "main";
  state.store_id = "00000000000000aa";
  state.run = run;
  state.history_since = since;
  state.aside_for = aside_for;
  return outlet::online_json(state);
}

/// Connected, and its first orders are out.
CoreHouse& begun(CoreHouse& house) {
  house.connect();
  house.tick();
  house.acknowledge_all();
  house.forget();
  return house;
}

bool stands_aside(const CoreHouse& house) {
  return !house.core->report()->service.aside_for.empty();
}

CoreOptions with_run() {
  CoreOptions options;
  options.run = "1111111111111111";
  return options;
}

bool orders_something(CoreHouse& house, int id) {
  const std::string kind = id % 2 == 0 ? "hold" : "release";
  house.forget();
  house.pass(seconds(2));
  house.message("plainwater/testing/requests", R"({"id":"n-)" + std::to_string(id) +
                                                   R"(","who":"Ines","request":")" + kind +
                                                   R"(","bench":"long"})");
  for (int i = 0; i < 36; ++i)
    house.tick(seconds(10));  // strengths are repeated every five minutes
  house.acknowledge_all();
  return !house.to("benches/long/order").empty() || !house.to("benches/long/strength").empty();
}

}  // namespace

TEST_CASE("the older store goes before; of two as old there is always exactly one") {
  const auto older = with(kBegan, "b", "2"), younger = with(kBegan + Span(1), "a", "1"),
             unknown = with(std::nullopt, "0", "0");
  CHECK(Namesakes::goes_before(older, younger));
  CHECK_FALSE(Namesakes::goes_before(younger, older));
  CHECK(Namesakes::goes_before(younger, unknown));
  CHECK_FALSE(Namesakes::goes_before(unknown, younger));
  const auto a = with(kBegan, "a", "2"), b = with(kBegan, "b", "1"), copy = with(kBegan, "a", "3");
  CHECK(Namesakes::goes_before(a, b));
  CHECK_FALSE(Namesakes::goes_before(b, a));
  CHECK(Namesakes::goes_before(a, copy));
  CHECK_FALSE(Namesakes::goes_before(copy, a));
  CHECK_FALSE(Namesakes::goes_before(a, a));
}

TEST_CASE("one heartbeat is none, silence is counted while we can hear") {
  Namesakes seen;
  seen.we_are(with(kBegan, "b", "1"));
  const auto older = with(kBegan - kDay, "a", "2");
  Span now = hours(1);
  const auto hear_for = [&](Span span) {
    for (const Span end = now + span; now < end;) seen.look(now += seconds(10), true);
  };
  seen.look(now, true);
  seen.heard(older);
  CHECK(seen.aside_for() == nullptr);
  seen.heard(with(kBegan - kDay, "c", "3"));  // another one, once too
  CHECK(seen.aside_for() == nullptr);
  hear_for(minutes(1));
  seen.heard(older);
  REQUIRE(seen.aside_for() != nullptr);
  CHECK(seen.aside_for()->store_id == "a");
  hear_for(minutes(2));
  CHECK(seen.aside_for() != nullptr);
  // A day without a broker, or asleep, says nothing about the other.
  seen.look(now += hours(24), false);
  seen.look(now += hours(1), true);
  seen.look(now += hours(8), true);
  CHECK(seen.aside_for() != nullptr);
  hear_for(seconds(40));
  CHECK(seen.aside_for() != nullptr);
  hear_for(seconds(10));
  CHECK(seen.aside_for() == nullptr);
  // And then it takes two again.
  seen.heard(older);
  CHECK(seen.aside_for() == nullptr);
}

TEST_CASE("nobody stands aside for itself, for a younger one, or for one that gives no orders") {
  Namesakes seen;
  const auto own = with(kBegan, "b", "1");
  seen.we_are(own);
  auto idle = with(kBegan - kDay, "a", "4");
  idle.aside = true;
  for (int i = 0; i < 5; ++i) {
    seen.heard(own);
    seen.heard(with(kBegan + kDay, "a", "2"));
    seen.heard(with(std::nullopt, "a", "3"));
    seen.heard(idle);
  }
  CHECK(seen.aside_for() == nullptr);
}

TEST_CASE(
    "a service that hears an older one of its name gives no orders, says so, and comes back") {
  CoreHouse house("", with_run());
  begun(house);
  CHECK(orders_something(house, 0));
  const auto own = parsed(house.said("service/main"));
  CHECK(own.at("run") == "1111111111111111");
  CHECK(own.at("aside_for").is_null());
  house.message(kService, heartbeat(kBegan));
  CHECK(orders_something(house, 1));  // once may be a ghost
  house.message(kService, heartbeat(kBegan));
  CHECK_FALSE(stands_aside(house));  // six minutes after the first
  house.pass(minutes(1));
  house.message(kService, heartbeat(kBegan));
  CHECK(stands_aside(house));
  CHECK(house.logged("another service runs under the name main"));
  house.forget();
  house.tick();
  CHECK_THAT(house.said("notices/urgent"), Contains("Two services run under the name main"));
  CHECK(parsed(house.said("service/main")).at("aside_for") == "00000000000000aa");
  for (int i = 2; i < 10; ++i) {
    house.pass(minutes(1));
    house.message(kService, heartbeat(kBegan));
    house.acknowledge_all();
    house.forget();
    house.message("plainwater/testing/requests",
                  R"({"id":"q-)" + std::to_string(i) + R"(","who":"Ines","request":")" +
                      (i % 2 == 0 ? "hold" : "release") + R"(","bench":"cold-end"})");
    house.tick(minutes(1));
    CHECK(done(house.said("replies/test")));  // what is asked is taken all the same
    CHECK(house.to("benches/cold-end/order").empty());
    CHECK(house.to("benches/long/strength").empty());
  }
  // It lost and found the broker meanwhile, and hears nothing of the other one any more.
  house.bring(LinkChanged{false});
  house.bring(PublisherChanged{false, 0});
  house.connect();
  house.tick();
  CHECK(house.to("benches/long/order").empty());
  for (int i = 0; i < 18; ++i) house.tick(seconds(10));
  house.acknowledge_all();
  CHECK_FALSE(stands_aside(house));
  CHECK(house.logged("taking over"));
  CHECK(house.to("benches/long/order").size() == 1);
}

TEST_CASE("what is kept or waited at the broker, or is younger, makes nobody stand aside") {
  CoreHouse house("", with_run());
  begun(house);
  for (int i = 0; i < 4; ++i) {
    house.message(kService, heartbeat(kBegan), true, true);    // retained
    house.message(kService, heartbeat(kBegan), false, false);  // of the backlog
    house.message(kService, heartbeat(house.clock.wall + kDay));
    house.message(kService, heartbeat(kBegan, "0000000000000077"));
    house.bring(LinkChanged{false});  // a session that somebody took
    house.bring(LinkChanged{true});
    house.bring(BacklogDrained{});
    house.pass(seconds(2));
  }
  CHECK_FALSE(stands_aside(house));
  CHECK(orders_something(house, 0));
}
