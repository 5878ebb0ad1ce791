// Each fault shows where it would show, and nowhere else.
#include "pump-stand-in/faults.h"

#include <catch2/catch.hpp>

#include "orders.h"
#include "pump-stand-in/report.h"
#include "pump-stand-in/schedule.h"

namespace plainwater::pump {
namespace {

Pump pump_with(const OrderText& text) {
  Pump pump(setup_east());
  // The meaning of full feed was learnt before.
  REQUIRE(pump.take_order("east", OrderText{.sequence = 1}.json(), live(), at()));
  REQUIRE(pump.take_order("east", text.json(), live(), at()));
  return pump;
}

const OrderText kLocked{
    .stock = "locked", .strength = "0", .dose = R"({"ml_per_litre":0,"ec":0.2,"water_ec":0.2})"};

}  // namespace

TEST_CASE("stuck open: a full dose during a hold, and meter and EC show it") {
  Pump pump = pump_with(kLocked);
  const auto watering = pump.water("east", 2, at(), {.stuck_open = true});
  CHECK(watering.strength_percent == 0);
  CHECK(watering.feed_ml == Approx(20));
  CHECK(watering.metered_ml == Approx(20));
  CHECK(*watering.ec == Approx(0.2 + 10 * 0.08));
}

TEST_CASE("siphoning: the meter counts nothing, the EC shows about 40 %") {
  Pump pump = pump_with(kLocked);
  const auto watering = pump.water("east", 2, at(), {.siphoning = true});
  CHECK(watering.strength_percent == 0);
  CHECK(watering.metered_ml == 0);
  CHECK(watering.feed_ml == Approx(8));
  CHECK(*watering.ec == Approx(0.2 + 4 * 0.08));
}

TEST_CASE("wrong ratio: twice the stock, and only the EC shows it") {
  Pump pump = pump_with({});
  const auto watering = pump.water("east", 2, at(), {.wrong_ratio = true});
  CHECK(watering.strength_percent == 40);
  CHECK(watering.metered_ml == Approx(8));
  CHECK(watering.feed_ml == Approx(16));
  CHECK(*watering.ec == Approx(0.2 + 8 * 0.08));
  Pump plain = pump_with(kLocked);
  CHECK(plain.water("east", 2, at(), {.wrong_ratio = true}).feed_ml == 0);
}

TEST_CASE("dead: nothing happens") {
  Pump pump = pump_with({});
  const auto watering = pump.water("east", 2, at(), {.dead = true});
  CHECK(watering.why == Why::dead);
  CHECK(watering.litres == 0);
  CHECK(watering.feed_ml == 0);
}

TEST_CASE("replaying: the first order that allowed feed, for ever") {
  Pump pump = pump_with(kLocked);
  const auto watering = pump.water("east", 2, at(100 * kDay), {.replaying = true});
  CHECK(watering.strength_percent == 40);
  CHECK(watering.feed_ml == Approx(8));
  CHECK(watering.number == OrderNumber{0, 1});
  Pump fresh(setup_east());
  CHECK(is_plain(fresh.water("east", 2, at(), {.replaying = true}), Why::no_order));
}

TEST_CASE("a fault is parsed with or without its days") {
  const auto always = parse_fault("siphoning");
  REQUIRE(always);
  CHECK(broken_at({*always}, unset()).siphoning);
  const auto days = parse_fault("stuck-open:2026-10-12/2026-10-13T06:00:00Z");
  REQUIRE(days);
  CHECK_FALSE(broken_at({*days}, at(-hours(13))).stuck_open);
  CHECK(broken_at({*days}, at(-hours(12))).stuck_open);
  CHECK_FALSE(broken_at({*days}, at(hours(18))).stuck_open);
  CHECK_FALSE(broken_at({*days}, unset()).stuck_open);
  const auto both = broken_at({*days, *always}, at());
  CHECK(both.stuck_open);
  CHECK(both.siphoning);
  CHECK_FALSE(both.dead);
  for (const char* text : {"", "stuck", "dead:", "dead:2026-10-12", "dead:2026-10-13/2026-10-12",
                           "dead:x/2026-10-12"}) {
    INFO(text);
    CHECK_FALSE(parse_fault(text));
  }
}

TEST_CASE("a report holds what the pump believes, the log what happened") {
  Pump pump = pump_with({});
  const auto watering = pump.water("east", 2, at(), {.wrong_ratio = true});
  CHECK(
      report_json(watering, "one", std::nullopt) ==
      R"({"time":"2026-10-12T12:00:00Z","pump":"one","litres":2.000,"feed_ml":8.000,"strength_percent":40,"ec":0.840,"epoch":0,"sequence":1760000000})");
  CHECK(
      report_json(watering, "one", Totals{12, 34}) ==
      R"({"time":"2026-10-12T12:00:00Z","pump":"one","litres_total":12.000,"feed_ml_total":34.000,"strength_percent":40,"ec":0.840,"epoch":0,"sequence":1760000000})");
  CHECK(
      log_json(watering) ==
      R"({"time":"2026-10-12T12:00:00Z","bench":"east","litres":2.000,"strength_percent":40,"feed_ml":16.000,"ec":0.840,"epoch":0,"sequence":1760000000,"plain_water_because":null})");
  CHECK(
      log_json(pump.water("west", 2, unset())) ==
      R"({"time":null,"bench":"west","litres":2.000,"strength_percent":0,"feed_ml":0.000,"ec":0.200,"epoch":null,"sequence":null,"plain_water_because":"no-order"})");
}

TEST_CASE("waterings are due at whole multiples, the first one after the clock is known") {
  Schedule schedule(hours(24), hours(8), true);
  CHECK(schedule.due(kNoon).empty());
  CHECK(schedule.due(kNoon + hours(19)).empty());
  CHECK(schedule.due(kNoon + hours(20)) == std::vector{kNoon + hours(20)});
  CHECK(schedule.due(kNoon + hours(20)).empty());
  CHECK(schedule.due(kNoon + hours(80)) == std::vector{kNoon + hours(44), kNoon + hours(68)});
}

TEST_CASE("a pump that slept waters once, and one whose clock was set back continues") {
  Schedule schedule(hours(24), Span{0}, false);
  CHECK(schedule.due(kNoon).empty());
  CHECK(schedule.due(kNoon + 5 * kDay) == std::vector{kNoon + 5 * kDay - hours(12)});
  CHECK(schedule.due(kNoon + 5 * kDay - hours(13)).empty());
  CHECK(schedule.due(kNoon + 5 * kDay).empty());  // the same mark again: once is enough
  CHECK(schedule.due(kNoon - 100 * kDay).empty());
  CHECK(schedule.due(kNoon - 99 * kDay).size() == 1);
}

TEST_CASE("the time in a message") {
  CHECK(time_in(R"({"t":21,"time":"2026-10-12T12:00:00Z"})", "time") == kNoon);
  CHECK(time_in(R"({"ts":1791806400})", "ts") == kNoon);
  CHECK(time_in(R"({"ts":1791806400.5})", "ts") == kNoon + milliseconds(500));
  CHECK(time_in(R"({"a":{"ts":1791806400}})", "/a/ts") == kNoon);
  for (const char* text : {"", "{", "[]", "{}", R"({"time":"noon"})", R"({"time":true})",
                           R"({"time":0})", R"({"time":1e300})"}) {
    INFO(text);
    CHECK_FALSE(time_in(text, "time"));
  }
}

}  // namespace plainwater::pump
