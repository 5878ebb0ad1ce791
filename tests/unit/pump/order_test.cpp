// Orders as bytes: which are read, which refused, and that a refusal means plain water.
#include "pump-stand-in/order.h"

#include <catch2/catch.hpp>

#include "damage.h"
#include "orders.h"

namespace plainwater::pump {

TEST_CASE("an order is read") {
  const auto order = parse_order(OrderText{}.json());
  REQUIRE(order);
  CHECK(order->bench == "east");
  CHECK(order->pump == "one");
  CHECK(order->open);
  CHECK(order->armed);
  CHECK(order->strength_percent == 40);
  CHECK(order->allows() == 40);
  CHECK(order->valid_until == kNoon + kDay);
  CHECK(order->number == OrderNumber{0, 1'760'000'000});
  REQUIRE(order->dose);
  CHECK(order->dose->ml_per_litre == 4);
  CHECK(order->dose->ec == 0.52);
  CHECK_FALSE(order->dose->problem);
}

TEST_CASE("an order for a bench without pump or recipe is read") {
  const auto bare = parse_order(OrderText{.pump = "null", .strength = "null", .dose = ""}.json());
  REQUIRE(bare);
  CHECK(bare->pump.empty());
  CHECK_FALSE(bare->dose);
  CHECK(parse_order(OrderText{.dose = "null"}.json()));
}

TEST_CASE("unknown members are ignored") {
  const auto order = parse_order(
      OrderText{.more = R"(,"limited_by":"west","untrusted":false,"moon":{"phase":[1,2,3]})"}
          .json());
  REQUIRE(order);
  CHECK(order->allows() == 40);
}

TEST_CASE("words other than open and armed allow nothing") {
  CHECK(parse_order(OrderText{.stock = "OPEN"}.json())->allows() == 0);
  CHECK(parse_order(OrderText{.stock = "ajar"}.json())->allows() == 0);
  CHECK(parse_order(OrderText{.mode = "rehearse"}.json())->allows() == 0);
}

TEST_CASE("a missing or wrong member is named") {
  const auto problem = [](const OrderText& text) {
    const auto order = parse_order(text.json());
    return order ? std::string() : order.error().what;
  };
  using Catch::Contains;
  CHECK_THAT(problem({.strength = "140"}), Contains("pump_strength_percent"));
  CHECK_THAT(problem({.strength = "-1"}), Contains("pump_strength_percent"));
  CHECK_THAT(problem({.strength = "\"40\""}), Contains("pump_strength_percent"));
  CHECK_THAT(problem({.strength = "null"}), Contains("pump_strength_percent"));
  CHECK_THAT(problem({.strength = "12.5"}), Contains("pump_strength_percent"));
  CHECK_THAT(problem({.until = "tomorrow"}), Contains("valid_until"));
  CHECK_THAT(problem({.issued = ""}), Contains("issued"));
  CHECK_THAT(problem({.pump = "7"}), Contains("pump"));
  CHECK_THAT(problem({.dose = "4.0"}), Contains("dose"));
  CHECK_THAT(problem({.dose = R"({"ml_per_litre":-4})"}), Contains("ml_per_litre"));
  CHECK_THAT(problem({.dose = R"({"ml_per_litre":1e999})"}), Contains("ml_per_litre"));
  CHECK_THAT(problem({.dose = R"({"recipe":"house"})"}), Contains("ml_per_litre"));
  for (const char* text : {"", "null", "[]", "40", "\"open\"", "{}", "\xff\xfe"})
    CHECK_FALSE(parse_order(text));
}

TEST_CASE("no prefix of an order is an order, and each gives plain water") {
  const std::string whole = OrderText{}.json();
  Pump pump(setup_east());
  for (std::size_t length = 0; length < whole.size(); ++length) {
    INFO(whole.substr(0, length));
    REQUIRE(pump.take_order("east", whole, live(), at()));
    REQUIRE(pump.water("east", 2, at()).why == Why::feed);
    REQUIRE_FALSE(pump.take_order("east", whole.substr(0, length), live(), at()));
    REQUIRE(is_plain(pump.water("east", 2, at()), Why::not_understood));
  }
  CHECK(pump.refused() == whole.size());
}

TEST_CASE(
    "a damaged order is refused with the name of the fault, or allows no more than a percent") {
  for_every_damage(OrderText{}.json(), [](const std::string& text) {
    const auto order = parse_order(text);
    INFO(text);
    if (order) {
      REQUIRE((order->allows() >= 0 && order->allows() <= 100));
      REQUIRE((order->ml_per_litre() >= 0 && order->ml_per_litre() <= 1e6));
    } else {
      REQUIRE((order.error().what.starts_with("it is not") ||
               order.error().what.find('"') != std::string::npos));
    }
  });
}

TEST_CASE("a strength is a whole percent and nothing else") {
  CHECK(*parse_strength("0") == 0);
  CHECK(*parse_strength("45") == 45);
  CHECK(*parse_strength("100") == 100);
  for (const char* text : {"", "101", "-1", "-0", "+5", "45 ", " 45", "45%", "45.0", "4e1", "full",
                           "99999999999999999999"}) {
    INFO(text);
    CHECK_FALSE(parse_strength(text));
  }
}

}  // namespace plainwater::pump
