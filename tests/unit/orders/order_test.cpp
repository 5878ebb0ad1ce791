#include "orders/order.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::orders;
using feeding::Cause;
using feeding::Feeding;

namespace {

constexpr Instant kIssued = from_seconds(1'789'363'260);  // 2026-09-14T05:21:00Z

engine::BenchNow bench(const std::string& name, Feeding feeding, int percent) {
  engine::BenchNow now{};
  now.name = name;
  now.feeding = feeding;
  now.strength_percent = percent;
  now.because = words::as_it_is("Growth runs.");
  return now;
}

engine::PumpNow pump(bool armed, Feeding feeding, int percent) {
  return {"long", armed, {"long", "cold-end"}, feeding, percent};
}

Order order_of(OrderContent content) {
  return {std::move(content), kIssued, kIssued + hours(26), {2, to_seconds(kIssued)}, "main"};
}

feeding::HoldView hold() {
  feeding::HoldView hold;
  hold.id = 3;
  hold.cause = Cause::sharp_drop;
  hold.provisional = true;
  hold.placed = kIssued;
  hold.earliest_end = kIssued + 28 * kDay;
  hold.planned_end = kIssued + 35 * kDay;
  hold.latest_end = kIssued + 42 * kDay;
  return hold;
}

}  // namespace

TEST_CASE("an order for feeding by hand, to the byte") {
  const auto order = order_of(content_of(bench("mist", Feeding::full, 100), {}));
  CHECK(
      to_json(order) ==
      R"({"bench":"mist","feeding":"full","strength_percent":100,"stock":"open","cause":"","because":"Growth runs.","hold":null,)"
      R"("issued":"2026-09-14T05:21:00Z","valid_until":"2026-09-15T07:21:00Z","epoch":2,"sequence":1789363260,)"
      R"("pump":null,"pump_mode":"advise","pump_strength_percent":null,"limited_by":null,"untrusted":false,"dose":null,"instance":"main","history_since":null})");
}

TEST_CASE("an order carries its pump's dose, and the bench that limits it") {
  auto feeds = pump(true, Feeding::reduced, 35);
  feeds.limited_by = "cold-end";
  feeds.dose = feeding::Dose{};
  feeds.dose->recipe = "spring";
  feeds.dose->water = "blend";
  feeds.dose->ml_per_litre = 2.625;
  feeds.dose->injector_ratio = 380.952381;
  feeds.dose->ppm_n = 35;
  feeds.dose->ec = 0.4125;
  feeds.dose->water_ec = 0.2;
  CHECK(
      to_json(order_of(content_of(bench("long", Feeding::full, 100), {feeds})))
          .find(
              R"("pump_strength_percent":35,"limited_by":"cold-end","untrusted":false,"dose":{"recipe":"spring","water":"blend","ml_per_litre":2.625,)"
              R"("injector_ratio":381.0,"ppm_n":35.0,"ec":0.412,"water_ec":0.200,"problem":null})") !=
      std::string::npos);
}

TEST_CASE("an impossible dose gives plain water, and the order says so") {
  auto feeds = pump(true, Feeding::plain_water, 0);
  feeds.dose = feeding::Dose{};
  feeds.dose->problem = feeding::DoseProblem::too_little;
  const auto content = content_of(bench("long", Feeding::reduced, 25), {feeds});
  CHECK_FALSE(content.stock_open());
  CHECK(commanded_strength(content) == 0);
  CHECK(words::in_english(content.because) ==
        "Growth runs. Its pump cannot dose that little: plain water until recipe, water and pump "
        "fit.");
  CHECK(to_json(order_of(content)).find(R"("ml_per_litre":0.000,"injector_ratio":null,)") !=
        std::string::npos);
}

TEST_CASE("a hold locks the stock and is in the order") {
  auto now = bench("long", Feeding::plain_water, 0);
  now.cause = Cause::sharp_drop;
  now.hold = hold();
  const auto json = to_json(order_of(content_of(now, {pump(true, Feeding::plain_water, 0)})));
  CHECK(json.find(R"("strength_percent":0,"stock":"locked","cause":"sharp-drop")") !=
        std::string::npos);
  CHECK(
      json.find(
          R"("hold":{"id":3,"cause":"sharp-drop","provisional":true,"placed":"2026-09-14T05:21:00Z",)"
          R"("earliest_end":"2026-10-12T05:21:00Z","planned_end":"2026-10-19T05:21:00Z","latest_end":"2026-10-26T05:21:00Z"})") !=
      std::string::npos);
  CHECK(json.find(R"("pump":"long","pump_mode":"armed","pump_strength_percent":0)") !=
        std::string::npos);
}

TEST_CASE("plain water never carries a strength, whatever the state") {
  CHECK(content_of(bench("long", Feeding::plain_water, 40), {}).strength_percent == 0);
}

TEST_CASE("stock stays locked while another bench of the pump must have plain water") {
  const auto content =
      content_of(bench("long", Feeding::full, 100), {pump(true, Feeding::plain_water, 0)});
  CHECK_FALSE(content.stock_open());
  CHECK(commanded_strength(content) == 0);
}

TEST_CASE("strength is commanded only of an armed pump, as its lowest bench allows") {
  const auto advised =
      content_of(bench("long", Feeding::full, 100), {pump(false, Feeding::reduced, 35)});
  const auto armed =
      content_of(bench("long", Feeding::full, 100), {pump(true, Feeding::reduced, 35)});
  const auto by_hand =
      content_of(bench("mist", Feeding::full, 100), {pump(true, Feeding::reduced, 35)});
  CHECK(commanded_strength(advised) == 0);
  CHECK(commanded_strength(armed) == 35);
  CHECK_FALSE(commanded_strength(by_hand));
}

TEST_CASE("contents differ when any part differs") {
  auto now = bench("long", Feeding::plain_water, 0);
  now.hold = hold();
  const auto base = content_of(now, {});
  CHECK(base == content_of(now, {}));
  now.hold->provisional = false;
  CHECK_FALSE(base == content_of(now, {}));
  now.hold.reset();
  CHECK_FALSE(base == content_of(now, {}));
  CHECK_FALSE(base == content_of(now, {pump(false, Feeding::full, 100)}));
}

TEST_CASE("the stamp of an order is read back") {
  const auto stamp =
      read_stamp(to_json(order_of(content_of(bench("mist", Feeding::full, 100), {}))));
  REQUIRE(stamp);
  CHECK(stamp->number == OrderNumber{2, to_seconds(kIssued)});
  CHECK(stamp->valid_until == kIssued + hours(26));
  CHECK(stamp->instance == "main");
  CHECK_FALSE(stamp->history_since);
  Order order = order_of(content_of(bench("mist", Feeding::full, 100), {}));
  order.history_since = kIssued - 40 * kDay;
  const auto with_history = read_stamp(to_json(order));
  REQUIRE(with_history);
  CHECK(with_history->history_since == kIssued - 40 * kDay);
  CHECK(with_history->store == StoreName{});
  order.store = {"0123456789abcdef", "fedcba9876543210"};
  CHECK(read_stamp(to_json(order))->store == order.store);
}

TEST_CASE("less in any part takes feed away, and nothing else does") {
  auto pumped = pump(true, Feeding::reduced, 40);
  pumped.dose = feeding::Dose{};
  pumped.dose->ml_per_litre = 4;
  auto bench_long = bench("long", Feeding::reduced, 40);
  const auto before = content_of(bench_long, {pumped});
  const auto taken = [&](const auto& change) {
    auto after = before;
    change(after);
    return takes_feed_away(before, after);
  };
  CHECK_FALSE(taken([](OrderContent&) {}));
  CHECK_FALSE(taken([](OrderContent& c) { c.because = words::as_it_is("In other words."); }));
  CHECK_FALSE(taken([](OrderContent& c) { c.strength_percent = c.pump->strength_percent = 60; }));
  CHECK(taken([](OrderContent& c) { c.strength_percent = 39; }));
  CHECK(taken([](OrderContent& c) { c.pump->strength_percent = 39; }));
  CHECK(taken([](OrderContent& c) { c.pump->armed = false; }));
  CHECK(taken([](OrderContent& c) { c.pump->plain_water = true; }));
  CHECK(taken([](OrderContent& c) { c.pump->dose->ml_per_litre = 3.9; }));
  CHECK(taken([](OrderContent& c) { c.pump.reset(); }));
  CHECK(taken([](OrderContent& c) { c.feeding = Feeding::plain_water; }));
}

TEST_CASE("text that is not an order has no stamp") {
  for (const char* text : {"", "{", "[]", "7", "{}", R"({"epoch":1,"sequence":2})",
                           R"({"epoch":"1","sequence":2,"valid_until":"2026-09-15T07:41:00Z"})",
                           R"({"epoch":1,"sequence":2,"valid_until":"tomorrow"})",
                           R"({"epoch":1,"sequence":2.5,"valid_until":"2026-09-15T07:41:00Z"})"})
    CHECK_FALSE(read_stamp(text));
}

TEST_CASE("the epoch outranks the sequence") {
  CHECK(OrderNumber{1, 900} < OrderNumber{2, 100});
  CHECK(OrderNumber{2, 100} < OrderNumber{2, 101});
}
