// Properties of order numbers for orders in any sequence: for a pump that follows them, and for
// services that continue from what others gave.
#include <rapidcheck.h>

#include <catch2/catch.hpp>
#include <functional>
#include <stdexcept>

#include "orders/order_book.h"
#include "pump-stand-in/pump.h"
#include "unit/house.h"
#include "unit/pump/orders.h"

using namespace plainwater;

namespace {

bool holds(const std::function<void()>& property) { return rc::check(property); }

/// Near both limits, and anywhere.
std::int64_t any_epoch() {
  return *rc::gen::oneOf(
      rc::gen::inRange<std::int64_t>(-2, 5),
      rc::gen::inRange<std::int64_t>(orders::kMostEpoch - 3, orders::kMostEpoch + 3),
      rc::gen::arbitrary<std::int64_t>());
}

orders::OrderNumber any_number(Instant now) {
  const auto ahead = *rc::gen::oneOf(rc::gen::inRange<std::int64_t>(-100, 100),
                                     rc::gen::inRange<std::int64_t>(800, 1000),
                                     rc::gen::inRange<std::int64_t>(0, 400 * 86'400));
  return {*rc::gen::oneOf(rc::gen::inRange<std::int64_t>(0, 4), rc::gen::just<std::int64_t>(77)),
          to_seconds(now) + ahead};
}

}  // namespace

TEST_CASE("A pump follows the highest number within limits, whatever comes in which order") {
  static_assert(pump::kMostEpoch == orders::kMostEpoch);
  CHECK(holds([] {
    pump::Pump pump(pump::setup_east());
    std::optional<pump::OrderNumber> highest;
    bool doubt = true;
    const int messages = *rc::gen::inRange(1, 30);
    for (int i = 0; i < messages; ++i) {
      const pump::OrderNumber number{any_epoch(), *rc::gen::inRange<std::int64_t>(0, 5)};
      pump::OrderText text{.epoch = number.epoch, .sequence = number.sequence};
      const auto taken = pump.take_order("east", text.json(), pump::live(), pump::at());
      const bool in_bounds = number.epoch >= 0 && number.epoch <= pump::kMostEpoch;
      const bool newest = in_bounds && (!highest || number >= *highest);
      RC_ASSERT(static_cast<bool>(taken) == newest);
      if (newest) highest = number;
      if (newest || !in_bounds) doubt = !in_bounds;
      const auto watering = pump.water("east", 2, pump::at());
      RC_ASSERT((watering.why == pump::Why::feed) == !doubt);
      if (!doubt) RC_ASSERT(*watering.number == *highest);
    }
  }));
}

TEST_CASE(
    "Whatever others gave, a service is followed again by every pump, at the latest when what "
    "they gave within reason has ended") {
  CHECK(holds([] {
    const auto settings = testing::house();
    engine::Engine engine(settings);
    engine::Outcome outcome;
    const Instant now = testing::at("2026-07-01T10:20:30Z");
    engine.advance(now, outcome);
    orders::OrderBook book(settings, 1);
    book.orders_seen().self().store = {"0000000000000001", "0000000000000002"};
    const std::string bench = book.changed(engine, {}).front().content.bench;
    orders::OrderNumber highest{};
    Instant last_end = now;
    const int others = *rc::gen::inRange(1, 10);
    for (int i = 0; i < others; ++i) {
      orders::OrderStamp stamp;
      stamp.number = any_number(now);
      stamp.valid_until = now + minutes(*rc::gen::inRange(-60, 20 * 1440));
      stamp.instance = *rc::gen::element<std::string>("main", "spare", "");
      stamp.store.id = *rc::gen::element<std::string>("0000000000000001", "0000000000000009", "");
      stamp.store.lineage =
          *rc::gen::element<std::string>("0000000000000002", "0000000000000009", "");
      book.seen(bench, stamp);
      highest = std::max(highest, stamp.number);
      const bool reason = stamp.number.sequence <= to_seconds(now + orders::OrdersSeen::kReason);
      if (reason) last_end = std::max(last_end, stamp.valid_until);
      if (*rc::gen::arbitrary<bool>()) book.judge(now);
    }
    book.judge(now);
    RC_ASSERT_FALSE(book.needs_judging(now));
    const auto give = [&] {
      book.start_afresh();
      for (auto& order : book.changed(engine, {}))
        if (order.content.bench == bench) return order;
      throw std::logic_error("no order for the bench");
    };
    orders::Order order = give();
    if (book.orders_seen().outdates(order)) {
      engine.advance(last_end + minutes(16), outcome);
      book.judge(engine.now());
      order = give();
    }
    RC_ASSERT_FALSE(book.orders_seen().outdates(order));
    RC_ASSERT(order.number > highest);
  }));
}
