// Each rule of deploy/pump-contract.md.
#include "pump-stand-in/pump.h"

#include <catch2/catch.hpp>
#include <limits>

#include "orders.h"

namespace plainwater::pump {
namespace {

/// A pump that took this order at noon.
Pump holding(const OrderText& text, const Arrival& arrival = live(), const Moment& moment = at(),
             const Setup& setup = setup_east()) {
  Pump pump(setup);
  REQUIRE(pump.take_order("east", text.json(), arrival, moment));
  return pump;
}

Setup with_strength() {
  Setup setup = setup_east();
  setup.follow = Follow::strength;
  setup.ml_per_litre = 10;
  return setup;
}

}  // namespace

TEST_CASE("an open order of an armed pump is followed to the millilitre") {
  Pump pump = holding({});
  const auto watering = pump.water("east", 2, at(hours(1)));
  CHECK(watering.why == Why::feed);
  CHECK(watering.litres == 2);
  CHECK(watering.strength_percent == 40);
  CHECK(watering.feed_ml == Approx(8));
  CHECK(watering.metered_ml == Approx(8));
  CHECK(*watering.ec == Approx(0.52));
  CHECK(watering.number == OrderNumber{0, 1'760'000'000});
  CHECK(watering.time == kNoon + hours(1));
}

TEST_CASE("without a dose the strength counts, relative to the full dose known to the pump") {
  Setup setup = setup_east();
  setup.ml_per_litre = 5;
  Pump pump = holding({.dose = ""}, live(), at(), setup);
  CHECK(pump.water("east", 2, at()).feed_ml == Approx(4));
}

TEST_CASE("no order means plain water, for the bench that has none") {
  Pump pump = holding({});
  CHECK(is_plain(pump.water("west", 2, at()), Why::no_order));
  CHECK_FALSE(pump.water("west", 2, at()).number);
}

TEST_CASE("the fields of an order that prevent feed") {
  const auto why = [](const OrderText& text) {
    Pump pump = holding(text);
    const auto watering = pump.water("east", 2, at());
    CHECK(is_plain(watering, watering.why));
    return watering.why;
  };
  CHECK(why({.stock = "locked"}) == Why::locked);
  CHECK(why({.mode = "advise"}) == Why::advise);
  CHECK(why({.pump = "\"two\""}) == Why::other_pump);
  CHECK(why({.pump = "null", .strength = "null"}) == Why::other_pump);
  CHECK(why({.strength = "0"}) == Why::nothing_ordered);
  CHECK(why({.dose = R"({"ml_per_litre":0})"}) == Why::nothing_ordered);
  CHECK(why({.dose = R"({"ml_per_litre":4,"problem":"too-much"})"}) == Why::dose_problem);
}

TEST_CASE("an order ends at valid_until, not a moment later") {
  Pump pump = holding({});
  CHECK(pump.water("east", 2, at(kDay - milliseconds(1))).why == Why::feed);
  CHECK(is_plain(pump.water("east", 2, at(kDay)), Why::expired));
}

TEST_CASE("an order already expired on arrival feeds nothing, retained or not") {
  for (const Arrival& arrival : {live(), retained(), retained(hours(9))}) {
    Pump pump =
        holding({.issued = "2026-10-10T12:00:00Z", .until = "2026-10-11T12:00:00Z"}, arrival);
    CHECK(is_plain(pump.water("east", 2, at()), Why::expired));
  }
}

TEST_CASE("the message's expiry ends an order even if the clock would still allow it") {
  Pump pump = holding({}, live(hours(2)));
  CHECK(pump.water("east", 2, at(hours(2) - milliseconds(1))).why == Why::feed);
  CHECK(is_plain(pump.water("east", 2, at(hours(2))), Why::expired));
  // The calendar was set back by a day; the monotonic clock was not.
  CHECK(is_plain(pump.water("east", 2, {.calendar = kNoon - kDay, .running = hours(5 + 2)}),
                 Why::expired));
}

TEST_CASE("an older order is ignored and the newer one stays in force") {
  Pump pump = holding({.stock = "locked", .sequence = 200});
  CHECK_FALSE(pump.take_order("east", OrderText{.sequence = 199}.json(), live(), at()));
  CHECK(is_plain(pump.water("east", 2, at()), Why::locked));
  CHECK(pump.refused() == 1);

  Pump feeding = holding({.sequence = 200});
  CHECK_FALSE(feeding.take_order("east", OrderText{.stock = "locked", .sequence = 199}.json(),
                                 live(), at()));
  CHECK(feeding.water("east", 2, at()).why == Why::feed);
}

TEST_CASE("an older order feeds nothing although the newer one has expired") {
  Pump pump = holding({.until = "2026-10-12T13:00:00Z", .sequence = 200});
  CHECK_FALSE(pump.take_order("east", OrderText{.sequence = 199}.json(), live(), at(hours(2))));
  CHECK(is_plain(pump.water("east", 2, at(hours(2))), Why::expired));
}

TEST_CASE("the epoch counts before the sequence") {
  Pump pump = holding({.stock = "locked", .epoch = 3, .sequence = 10});
  CHECK_FALSE(pump.take_order("east", OrderText{.epoch = 2, .sequence = 999}.json(), live(), at()));
  CHECK(is_plain(pump.water("east", 2, at()), Why::locked));
  CHECK(pump.take_order("east", OrderText{.epoch = 4, .sequence = 1}.json(), live(), at()));
  CHECK(pump.water("east", 2, at()).number == OrderNumber{4, 1});
}

TEST_CASE("a number years ahead is beaten by a higher epoch, never by a higher sequence") {
  Pump pump = holding({.epoch = 1, .sequence = 4'102'444'800});
  CHECK_FALSE(
      pump.take_order("east", OrderText{.stock = "locked", .epoch = 1}.json(), live(), at()));
  CHECK(pump.water("east", 2, at()).why == Why::feed);
  CHECK(pump.take_order("east", OrderText{.stock = "locked", .epoch = 2}.json(), live(), at()));
  CHECK(is_plain(pump.water("east", 2, at()), Why::locked));
}

TEST_CASE("an epoch above the limit is no order: plain water until a good one comes") {
  for (const std::int64_t epoch :
       {kMostEpoch + 1, std::int64_t{-1}, std::numeric_limits<std::int64_t>::max()}) {
    Pump pump = holding({.epoch = 1, .sequence = 200});
    CHECK_FALSE(pump.take_order("east", OrderText{.epoch = epoch}.json(), live(), at()));
    CHECK(is_plain(pump.water("east", 2, at()), Why::not_understood));
    CHECK(pump.take_order("east", OrderText{.epoch = 1, .sequence = 200}.json(), live(), at()));
    CHECK(pump.water("east", 2, at()).number == OrderNumber{1, 200});
  }
  Pump pump = holding({.epoch = kMostEpoch});
  CHECK(pump.water("east", 2, at()).why == Why::feed);
}

TEST_CASE("of two orders with one number the weaker counts, in either order of arrival") {
  const std::string strong = OrderText{}.json(), weak = OrderText{.stock = "locked"}.json();
  for (const bool strong_first : {true, false}) {
    Pump pump(setup_east());
    (void)pump.take_order("east", strong_first ? strong : weak, live(), at());
    (void)pump.take_order("east", strong_first ? weak : strong, live(), at());
    CHECK(is_plain(pump.water("east", 2, at()), Why::locked));
  }
}

TEST_CASE("an order for another bench is plain water until one for this bench comes") {
  Pump pump = holding({});
  CHECK_FALSE(pump.take_order("east", OrderText{.bench = "west", .sequence = 1'760'000'001}.json(),
                              live(), at()));
  CHECK(is_plain(pump.water("east", 2, at()), Why::other_bench));
  CHECK(is_plain(pump.water("west", 2, at()), Why::no_order));
  CHECK(pump.take_order("east", OrderText{.sequence = 1'760'000'002}.json(), live(), at()));
  CHECK(pump.water("east", 2, at()).why == Why::feed);
}

TEST_CASE("a bench that the pump does not water is refused") {
  Pump pump(setup_east());
  CHECK_FALSE(pump.take_order("north", OrderText{.bench = "north"}.json(), live(), at()));
  CHECK_FALSE(pump.take_strength("north", "40", live(), at()));
}

TEST_CASE("without a set clock the message's expiry counts") {
  // Also when the clock is in 1970 or behind the order's issue time: `valid_until` would never
  // come.
  const std::optional<Instant> clocks[] = {std::nullopt, from_seconds(60), kNoon - hours(1)};
  for (const auto& calendar : clocks) {
    Pump pump(setup_east());
    const OrderText text{.until = "2026-10-12T12:30:00Z"};
    REQUIRE(pump.take_order("east", text.json(), retained(minutes(30)), {calendar, hours(5)}));
    CHECK(pump.water("east", 2, {calendar, hours(5) + minutes(29)}).why == Why::feed);
    CHECK(is_plain(pump.water("east", 2, {calendar, hours(5) + minutes(30)}), Why::expired));
  }
}

TEST_CASE("without clock and expiry an order counts for 15 minutes after its last repetition") {
  Pump pump = holding({}, live(), unset());
  CHECK(pump.water("east", 2, unset(minutes(14))).why == Why::feed);
  REQUIRE(pump.take_order("east", OrderText{}.json(), live(), unset(minutes(10))));
  CHECK(pump.water("east", 2, unset(minutes(24))).why == Why::feed);
  CHECK(is_plain(pump.water("east", 2, unset(minutes(25))), Why::expired));
}

TEST_CASE("without clock and expiry a retained order has no age and feeds nothing") {
  Pump pump = holding({}, retained(), unset());
  CHECK(is_plain(pump.water("east", 2, unset()), Why::age_unknown));
  // The same again, live: now its age is known. The broker's copy neither cancels it nor makes it
  // younger.
  REQUIRE(pump.take_order("east", OrderText{}.json(), live(), unset()));
  CHECK(pump.water("east", 2, unset()).why == Why::feed);
  REQUIRE(pump.take_order("east", OrderText{}.json(), retained(), unset(minutes(14))));
  CHECK(pump.water("east", 2, unset(minutes(14))).why == Why::feed);
  CHECK(is_plain(pump.water("east", 2, unset(minutes(15))), Why::expired));
}

TEST_CASE("a strength is followed until 15 minutes of silence") {
  Pump pump(with_strength());
  CHECK(is_plain(pump.water("east", 2, at()), Why::silent));
  REQUIRE(pump.take_strength("east", "40", live(), at()));
  const auto watering = pump.water("east", 2, at(minutes(15) - milliseconds(1)));
  CHECK(watering.why == Why::feed);
  CHECK(watering.feed_ml == Approx(8));
  CHECK_FALSE(watering.number);
  CHECK(is_plain(pump.water("east", 2, at(minutes(15))), Why::silent));
}

TEST_CASE("the silence of a strength is not measured by the calendar") {
  Pump pump(with_strength());
  REQUIRE(pump.take_strength("east", "40", live(), at()));
  CHECK(is_plain(
      pump.water("east", 2, {.calendar = kNoon - hours(3), .running = hours(5) + minutes(15)}),
      Why::silent));
  CHECK(pump.water("east", 2, {.calendar = kNoon + hours(3), .running = hours(5)}).why ==
        Why::feed);
}

TEST_CASE("strengths that are 0, malformed or retained are plain water") {
  Pump pump(with_strength());
  REQUIRE(pump.take_strength("east", "0", live(), at()));
  CHECK(is_plain(pump.water("east", 2, at()), Why::nothing_ordered));
  REQUIRE(pump.take_strength("east", "40", live(), at()));
  CHECK_FALSE(pump.take_strength("east", "many", live(), at()));
  CHECK(is_plain(pump.water("east", 2, at()), Why::not_understood));
  REQUIRE(pump.take_strength("east", "40", live(), at()));
  CHECK(pump.water("east", 2, at()).why == Why::feed);

  Pump fresh(with_strength());
  CHECK_FALSE(fresh.take_strength("east", "40", retained(), at()));
  CHECK(is_plain(fresh.water("east", 2, at()), Why::silent));
}

TEST_CASE("a watering that would pass the daily cap is plain water, and the cap covers 24 hours") {
  Setup setup = setup_east();
  setup.daily_feed_ml = 20;
  Pump pump = holding({.until = "2026-10-20T12:00:00Z"}, live(), at(), setup);
  CHECK(pump.water("east", 2, at()).feed_ml == Approx(8));
  CHECK(pump.water("east", 2, at(hours(6))).feed_ml == Approx(8));
  CHECK(is_plain(pump.water("east", 2, at(hours(12))), Why::daily_cap));
  CHECK(pump.water("east", 1, at(hours(12))).feed_ml == Approx(4));
  CHECK(is_plain(pump.water("east", 2, at(kDay - milliseconds(1))), Why::daily_cap));
  CHECK(pump.water("east", 2, at(kDay)).feed_ml == Approx(8));
}

TEST_CASE("above its EC limit the pump stops, water too, until a person resets it") {
  Setup setup = setup_east();
  setup.ec_limit = 0.6;
  Pump pump = holding({}, live(), at(), setup);
  CHECK(pump.water("east", 2, at()).why == Why::feed);
  REQUIRE(pump.take_order(
      "east",
      OrderText{.sequence = 1'760'000'001, .dose = R"({"ml_per_litre":6,"ec":0.68,"water_ec":0.2})"}
          .json(),
      live(), at()));
  const auto tripped = pump.water("east", 2, at(hours(1)));
  CHECK(tripped.why == Why::cut_out);
  CHECK(*tripped.ec == Approx(0.68));
  CHECK(tripped.litres < 0.2);
  CHECK(pump.cut_out());

  // A locked order does not reset it.
  REQUIRE(pump.take_order("east", OrderText{.stock = "locked", .sequence = 1'760'000'002}.json(),
                          live(), at()));
  for (const char* bench : {"east", "west"}) {
    const auto stopped = pump.water(bench, 2, at(hours(2)));
    CHECK(stopped.why == Why::cut_out);
    CHECK(stopped.litres == 0);
    CHECK(stopped.feed_ml == 0);
    CHECK_FALSE(stopped.ec);
  }
  pump.reset_cut_out();
  CHECK(is_plain(pump.water("east", 2, at(hours(3))), Why::locked));
}

TEST_CASE("no stock flows without water") {
  Pump pump = holding({});
  for (const Broken& broken : {Broken{}, Broken{.stuck_open = true}, Broken{.siphoning = true}}) {
    const auto watering = pump.water("east", 0, at(), broken);
    CHECK(watering.why == Why::no_flow);
    CHECK(watering.feed_ml == 0);
    CHECK_FALSE(watering.ec);
  }
}

TEST_CASE("the tank's content is learnt from the dose unless it is given") {
  Setup setup = setup_east();
  setup.water_ec = 0.4;
  setup.ec_per_100ppm = 0.8;  // 50 ppm of the dose add 0.4
  Pump pump = holding({}, live(), at(), setup);
  CHECK(*pump.water("east", 2, at()).ec == Approx(0.8));
  CHECK(*pump.water("west", 2, at()).ec == Approx(0.4));
}

}  // namespace plainwater::pump
