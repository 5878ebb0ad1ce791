// Whether the core believes the time, and what it does until then.
#include <catch2/catch.hpp>

#include "core_house.h"
#include "replay/audit.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

constexpr const char* kTrusted = "clock: {trust_machine: true}\n";

/// Both sensors tell what the machine's clock says.
void let_sensors_agree(CoreHouse& house) {
  house.air(18, house.clock.wall);
  house.cold_air(18, house.clock.wall);
}
Span magnitude(Span span) { return span < Span(0) ? -span : span; }
std::int64_t number(const std::string& order, const char* field) {
  return parsed(order).at(field).as_int64();
}
bool audited(const CoreHouse& house) {
  const auto audit = replay::audit_store(house.settings->store.path, {});
  if (!audit) FAIL(audit.error().message());
  return audit->identical();
}
/// A machine whose clock is ahead by this at its first start; nothing contradicts it, a pump is
/// armed and fed by.
void live_ahead(CoreHouse& house, Span ahead) {
  house.clock.wall += ahead;
  house.begin_anew();
  house.connect();
  for (int hour = 0; hour < 20 * 24; ++hour) {
    house.message("air/long", R"({"t":18.)" + std::to_string(hour % 10) + "}");
    house.tick(hours(1));
    house.acknowledge_all();
    house.forget();
  }
  REQUIRE(done(house.ask(R"({"id":"arm","who":"Ines","request":"arm","pump":"long"})")));
  house.bring(Acknowledged{});
  house.acknowledge_all();
  house.forget();
  house.tick(minutes(10));
  REQUIRE(house.said("benches/long/strength") != "0");
}
/// The clock is set right, and the sensors say so too.
void set_right(CoreHouse& house, Span ahead) {
  house.acknowledge_all();
  house.forget();
  house.clock.wall -= ahead;
  house.tick();
  let_sensors_agree(house);
  house.tick();
  house.acknowledge_all();
}

}  // namespace

TEST_CASE("a clock that nobody keeps gives plain water until two sensors agree with it") {
  CoreHouse house;
  house.clock.synchronised = false;
  house.begin_anew();
  house.connect();
  house.tick();
  CHECK(house.last.listen);  // for the witnesses
  CHECK(house.said("benches/long/strength") == "0");
  CHECK(house.to("benches/long/order").empty());
  CHECK_FALSE(house.core->report()->service.clock_settled);
  CHECK_FALSE(house.core->report()->service.clock_believed);
  CHECK_THAT(house.said("notices/soon"), Contains("clock.trust_machine: true"));
  // Not even plain water can be asked for, since nothing can be dated; but nothing is fed either.
  for (const char* asked : {kHold, R"({"id":"d","who":"Ines","request":"disarm","pump":"long"})"}) {
    const auto refused = house.ask(asked);
    CHECK(problem(refused) == "clock-unsettled");
    CHECK_THAT(refused, Contains("every bench gets plain water and no pump follows orders"));
  }
  house.message("air/long", R"({"t":18})");  // of a time that nobody knows
  for (int i = 0; i < 5; ++i) {
    house.tick(minutes(1));
    house.air(18, house.clock.wall);
  }
  CHECK(house.to("benches/long/order").empty());
  // Restarts make it no truer, be they killed or orderly.
  house.restart();
  CHECK(house.bring(Stop{}).stored);
  house.restart();
  house.connect();
  house.tick();
  CHECK_FALSE(house.core->report()->service.clock_believed);
  CHECK(house.core->report()->service.now == kNever);
  house.tick(minutes(1));
  let_sensors_agree(house);
  house.tick();
  CHECK(house.core->report()->service.clock_settled);
  CHECK_FALSE(house.to("benches/long/order").empty());
  CHECK(house.core->report()->service.now == house.clock.wall);
  CHECK(audited(house));
}

TEST_CASE("the grower's word, or a time service, is enough for a clock") {
  CoreHouse house(GENERATE(false, true) ? kTrusted : "");
  house.clock.synchronised = !house.settings->clock.trust_machine;
  house.begin_anew();
  house.connect();
  house.tick();
  CHECK(house.core->report()->service.clock_settled);
  CHECK_FALSE(house.to("benches/long/order").empty());
}

TEST_CASE("after a start at a time that nobody confirms, what was fed is plain water until then") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.tick();
  house.clock.synchronised = false;
  house.pass(20 * kDay);
  house.restart();
  house.forget();
  house.connect();
  house.tick();
  house.acknowledge_all();
  CHECK(parsed(house.said("benches/long/order")).at("feeding").as_string() == "plain-water");
  CHECK(parsed(house.said("benches/long/order")).at("cause").as_string() == "clock");
  CHECK(house.said("benches/long/strength") == "0");
  house.forget();
  let_sensors_agree(house);
  house.tick();
  house.acknowledge_all();
  CHECK(parsed(house.said("benches/long/order")).at("cause").as_string() != "clock");
  CHECK(audited(house));
}

TEST_CASE("what leads to plain water is obeyed even by a clock in 1970") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.tick();
  house.clock = {from_seconds(100), minutes(1), false};
  house.restart();
  house.bring(PublisherChanged{true, 5});
  house.tick();
  REQUIRE(house.last.listen);
  house.connect();
  house.acknowledge_all();
  CHECK(done(house.ask(kHold)));
  house.acknowledge_all();
  CHECK(problem(house.ask(R"({"id":"r","who":"Ines","request":"release","bench":"long"})")) ==
        "clock-unsettled");
  house.clock.wall = at("2026-09-03T12:00:00Z");
  house.clock.synchronised = true;
  house.tick();
  CHECK(house.core->report()->service.clock_settled);
  REQUIRE(house.core->report()->benches[1].hold);
  CHECK(house.core->report()->benches[1].hold->cause == feeding::Cause::grower);
  CHECK(audited(house));
}

TEST_CASE("a first start at a time far ahead that is set right later") {
  const Span ahead = GENERATE(Span(4 * 365 * kDay + hours(3)), 13 * kDay, Span(hours(1)));
  CoreHouse house;
  live_ahead(house, ahead);
  REQUIRE(done(house.ask(R"({"id":"c","who":"Ines","request":"hold","bench":"cold-end"})")));
  const auto before = house.core->report();
  set_right(house, ahead);
  const auto after = house.core->report();
  CHECK(after->service.clock_settled);
  CHECK(after->service.now == house.clock.wall);
  SECTION("nothing is released by it, and holds keep their remaining days") {
    REQUIRE(after->benches[0].hold);
    CHECK(magnitude((before->benches[0].hold->planned_end - before->service.now) -
                    (after->benches[0].hold->planned_end - after->service.now)) < minutes(1));
    CHECK(after->benches[1].strength_percent <= before->benches[1].strength_percent);
  }
  SECTION("orders go out that outrank those of the wrong time") {
    const auto order = house.said("benches/long/order");
    CHECK(number(order, "epoch") == 2);
    CHECK(number(order, "sequence") <= to_seconds(house.clock.wall));
    house.restart();
    house.forget();
    house.connect();
    CHECK(number(house.said("benches/long/order"), "epoch") == 2);
  }
  SECTION("cold air is answered") {
    for (int i = 0; i < 8; ++i) {
      house.tick(minutes(10));
      house.air(2, house.clock.wall);
    }
    CHECK(house.core->report()->benches[1].cause == feeding::Cause::chill);
    house.acknowledge_all();
    CHECK(house.said("benches/long/strength") == "0");
  }
  SECTION("a restart knows how old the store is now") {
    const auto since = after->service.history_since;
    REQUIRE(since);
    CHECK(*since <= after->service.now);  // it cannot have begun later
    house.tick(minutes(1));
    house.restart();
    house.connect();
    house.tick();
    CHECK(house.core->report()->service.history_since == since);
  }
  SECTION("a restart knows that the clock is believed") {
    house.tick(minutes(1));
    house.restart();
    house.connect();
    house.tick();
    CHECK(house.core->report()->service.clock_settled);
    CHECK(house.core->report()->service.now == house.clock.wall);
  }
  SECTION("what is open is told again in its time, and the audit finds nothing") {
    house.tick(hours(1));
    CHECK(house.core->report()->service.now == house.clock.wall);
    CHECK(audited(house));
  }
}

TEST_CASE("a doubt while the service runs raises nothing and takes nothing away") {
  CoreHouse house;
  live_ahead(house, Span(0));
  const auto before = house.core->report();
  house.clock.wall -= 365 * kDay;
  for (int hour = 0; hour < 24 * 10; ++hour) {
    house.tick(hours(1));
    house.message("air/long", R"({"t":18.)" + std::to_string(hour % 10) + "}");
    CHECK(house.core->report()->benches[1].strength_percent <= before->benches[1].strength_percent);
  }
  CHECK_FALSE(house.core->report()->service.clock_settled);
  CHECK(house.core->report()->service.now == before->service.now + hours(24 * 10));
  CHECK(house.core->report()->benches[1].strength_percent == before->benches[1].strength_percent);
}

TEST_CASE("a step back before the backlog is in ends no hold and closes no night") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.tick();
  const auto until = house.clock.wall + 5 * kDay;
  REQUIRE(done(house.ask(R"({"id":"h","who":"Ines","request":"hold","bench":"long","until":")" +
                         format_rfc3339(until) + "\"}")));
  REQUIRE(house.bring(Stop{}).stored);
  // Some hours without power, and a battery clock that runs ahead; it is near enough to be
  // believed.
  house.pass(hours(2));
  house.clock.wall += 9 * kDay;
  house.clock.synchronised = false;
  house.restart();
  house.bring(PublisherChanged{true, 5});
  for (int i = 0; i < 3; ++i) house.tick();
  REQUIRE(house.core->report()->service.clock_settled);
  // The time service sets it right, and the broker still has to hand over what waits.
  house.clock.wall -= 9 * kDay;
  house.clock.synchronised = true;
  for (int i = 0; i < 3; ++i) house.tick();
  const auto report = house.core->report();
  CHECK(report->service.clock_settled);
  const auto& bench = *std::ranges::find(report->benches, "long", &engine::BenchNow::name);
  REQUIRE(bench.hold);
  CHECK(bench.hold->planned_end == until);
  CHECK_FALSE(house.logged("night"));
  house.forget();
  house.connect();
  house.tick();
  CHECK(parsed(house.said("benches/long/order")).at("stock").as_string() == "locked");
  CHECK(audited(house));
}

TEST_CASE("a doubt before the backlog is in closes no night without its readings") {
  CoreHouse house;
  house.connect();
  for (int hour = 0; hour < 27; ++hour) {  // until three in the afternoon
    house.air(15, house.clock.wall);
    house.tick(hours(1));
  }
  const auto night = [&] { return house.core->report()->benches[1].night; };
  const auto before = night();
  house.bring(LinkChanged{false});
  house.bring(ListeningChanged{true});  // tries again, in vain
  house.tick(hours(21));
  house.clock.wall += 400 * kDay;
  for (int i = 0; i < 3; ++i) house.tick();
  CHECK_FALSE(house.core->report()->service.clock_settled);
  CHECK(house.logged("is released"));
  CHECK(night() == before);
  const auto began = house.clock.wall - 400 * kDay - hours(21);
  for (int hour = 0; hour < 21; ++hour) house.air(9, began + hours(hour), false);
  house.forget();
  house.connect();
  house.tick();
  CHECK(night() > before);
  CHECK(house.core->report()->benches[1].night_mean_c == 9);
  CHECK(audited(house));
}
