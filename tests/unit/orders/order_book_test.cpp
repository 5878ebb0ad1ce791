#include "orders/order_book.h"

#include <set>

#include "unit/house.h"

using namespace plainwater;
using namespace plainwater::orders;
using namespace plainwater::testing;
using feeding::RequestKind;

namespace {

std::set<std::string> benches(const std::vector<Order>& orders) {
  std::set<std::string> names;
  for (const auto& order : orders) names.insert(order.content.bench);
  return names;
}

/// An engine in summer, and a book that has given its first orders.
struct Desk {
  std::shared_ptr<const Settings> settings = house();
  engine::Engine engine{settings};
  OrderBook book{settings, 3};
  engine::Outcome outcome;
  std::vector<Order> first;

  Desk() {
    // A bench gets plain water until its first night has counted.
    for (Instant t = at("2026-06-30T16:00:00Z"); t < at("2026-07-01T08:00:00Z"); t += minutes(20))
      for (std::uint32_t sensor = 0; sensor < settings->sensors.size(); ++sensor)
        engine.take(Reading{SensorId(sensor), Quantity::temperature, t,
                            static_cast<Milli>(20'000 + to_ms(t) / 1'200'000 % 7 * 100)},
                    t, outcome);
    engine.advance(at("2026-07-01T10:20:30Z"), outcome);
    first = book.changed(engine, outcome.decisions);
    outcome = {};
  }
  std::vector<Order> ask(const feeding::Request& request, const char* when) {
    outcome = {};
    REQUIRE(engine.take(request, at(when), outcome).done);
    return book.changed(engine, outcome.decisions);
  }
};

}  // namespace

TEST_CASE("every bench gets an order at the start, and then none while nothing changes") {
  Desk desk;
  CHECK(benches(desk.first) == std::set<std::string>{"cold-end", "long", "mist"});
  for (const auto& order : desk.first) {
    CHECK(order.number == OrderNumber{3, to_seconds(at("2026-07-01T10:20:30Z"))});
    CHECK(order.valid_until - order.issued == hours(26));
  }
  CHECK(desk.book.changed(desk.engine, {}).empty());
}

TEST_CASE("a hold changes the orders of all benches on the pump, and of no other") {
  Desk desk;
  const auto orders = desk.ask(request("1", RequestKind::hold, "cold-end"), "2026-07-02T08:00:00Z");
  CHECK(benches(orders) == std::set<std::string>{"cold-end", "long"});
  for (const auto& order : orders) {
    CHECK_FALSE(order.content.stock_open());
    CHECK(order.issued == at("2026-07-02T08:00:00Z"));
  }
}

TEST_CASE("a second change within one second still replaces the first") {
  Desk desk;
  const auto held = desk.ask(request("1", RequestKind::hold, "mist"), "2026-07-02T08:00:00Z");
  const auto released =
      desk.ask(request("2", RequestKind::release, "mist"), "2026-07-02T08:00:00.500Z");
  REQUIRE(held.size() == 1);
  REQUIRE(released.size() == 1);
  CHECK(released[0].number > held[0].number);
}

TEST_CASE("changes are undone exactly, and can be made again") {
  Desk desk;
  const Order before = *desk.book.given("mist");
  engine::Outcome outcome;
  REQUIRE(
      desk.engine.take(request("1", RequestKind::hold, "mist"), at("2026-07-02T08:00:00Z"), outcome)
          .done);
  const auto change = [&](OrderBook::Undo& undo) {
    return desk.book.changed(desk.engine.now(), desk.engine.benches(), desk.engine.pumps(),
                             outcome.decisions, undo);
  };
  OrderBook::Undo undo, again;
  const auto held = change(undo);
  CHECK(benches(held) == std::set<std::string>{"mist"});
  desk.book.take_back(std::move(undo));
  CHECK(desk.book.given("mist")->number == before.number);
  CHECK(desk.book.given("mist")->content == before.content);
  const auto once_more = change(again);
  REQUIRE(once_more.size() == 1);
  CHECK(once_more[0].number == held[0].number);
}

TEST_CASE("the very first orders can be undone") {
  Desk desk;
  OrderBook fresh{desk.settings, 3};
  OrderBook::Undo undo;
  CHECK(fresh.changed(desk.engine.now(), desk.engine.benches(), desk.engine.pumps(), {}, undo)
            .size() == 3);
  fresh.take_back(std::move(undo));
  CHECK(fresh.given("mist") == nullptr);
  CHECK(fresh.changed(desk.engine, {})[0].number == desk.first[0].number);
}

TEST_CASE("arming a pump changes its benches' orders") {
  Desk desk;
  const auto orders = desk.ask(request("1", RequestKind::arm, "long"), "2026-07-02T08:00:00Z");
  CHECK(benches(orders) == std::set<std::string>{"cold-end", "long"});
  for (const auto& order : orders)
    CHECK(commanded_strength(order.content) == order.content.pump->strength_percent);
}

TEST_CASE("orders are given again at full hours, the same by every daemon") {
  Desk desk;
  desk.engine.advance(at("2026-07-01T10:59:59Z"), desk.outcome);
  desk.book.reissued(desk.engine);
  CHECK_FALSE(desk.book.mark_passed(at("2026-07-01T10:59:59Z")));
  desk.engine.advance(at("2026-07-01T11:00:07Z"), desk.outcome);
  REQUIRE(desk.book.mark_passed(desk.engine.now()));
  const auto again = desk.book.reissued(desk.engine);
  REQUIRE(again.size() == 3);
  for (const auto& order : again) CHECK(order.issued == at("2026-07-01T11:00:00Z"));
  CHECK(desk.book.reissued(desk.engine).empty());
}

TEST_CASE("an order older than the one at the broker is outdated") {
  Desk desk;
  const auto& ours = desk.first.front();
  CHECK_FALSE(desk.book.orders_seen().outdates(ours));
  desk.book.seen(ours.content.bench, {ours.number, kForever});
  CHECK_FALSE(desk.book.orders_seen().outdates(ours));
  desk.book.seen(ours.content.bench, {{ours.number.epoch, ours.number.sequence + 1}, kForever});
  CHECK(desk.book.orders_seen().outdates(ours));
  desk.book.seen(ours.content.bench, {{1, ours.number.sequence + 900}, kForever});
  CHECK(desk.book.orders_seen().outdates(ours));
}

TEST_CASE("an order of another daemon binds only while it is valid") {
  Desk desk;
  const Order ours = desk.first.front();
  desk.book.seen(ours.content.bench, {{ours.number.epoch + 1, 0}, ours.issued + minutes(1)});
  CHECK(desk.book.orders_seen().outdates(ours));
  Order later = ours;
  later.issued = ours.issued + minutes(2);
  CHECK_FALSE(desk.book.orders_seen().outdates(later));
}

TEST_CASE("while an order of a daemon with an older store is valid, a younger one gives none") {
  Desk desk;
  const Order ours = desk.first.front();
  CHECK_FALSE(ours.history_since);
  const std::string bench = ours.content.bench;
  const OrderNumber before{ours.number.epoch, ours.number.sequence - 1};
  const Instant began = at("2026-06-01T00:00:00Z"), until = ours.issued + minutes(1);
  desk.book.seen(bench, {before, until, "other", began});
  CHECK_FALSE(desk.book.orders_seen().outdates(ours));  // the age of our own is unknown

  desk.book.orders_seen().self().history_since = began;
  desk.book.seen(bench, {before, until, "other", began});
  CHECK_FALSE(desk.book.orders_seen().outdates(ours));  // the same age: a spare with a copy
  desk.book.seen(bench, {before, until, "other", began + kDay});
  desk.book.seen(bench, {before, until, "other", std::nullopt});
  CHECK_FALSE(desk.book.orders_seen().outdates(ours));
  desk.book.seen(bench, {before, until, "main", began - kDay});
  CHECK_FALSE(desk.book.orders_seen().outdates(ours));  // our own, from a store that is gone
  desk.book.seen(bench, {before, until, "other", began - kDay});
  CHECK(desk.book.orders_seen().outdates(ours));
  desk.book.seen(bench, {before, until - seconds(30), "other", began - kDay});
  Order later = ours;
  later.issued = until;
  CHECK(desk.book.orders_seen().outdates(later));
  later.issued = until + Span(1);
  CHECK_FALSE(desk.book.orders_seen().outdates(later));
  later.content.bench = "another";
  later.issued = ours.issued;
  CHECK_FALSE(desk.book.orders_seen().outdates(later));
  desk.engine.advance(at("2026-07-01T11:00:00Z"), desk.outcome);
  for (const auto& order : desk.book.reissued(desk.engine)) CHECK(order.history_since == began);
}

TEST_CASE("we continue from our own number, whoever repeated it; another's is not ours") {
  Desk desk;
  const Order first = desk.first.front();
  const std::string bench = first.content.bench;
  desk.book.orders_seen().self().store = {"0000000000000001", "0000000000000002"};
  const OrderNumber ahead{3, first.number.sequence + 500};
  const OrderStamp stamp{ahead, kForever, "main", std::nullopt, {"0000000000000001", ""}};
  SECTION("ours") {
    desk.book.seen(bench, stamp);
    desk.book.start_afresh();
    for (const auto& order : desk.book.changed(desk.engine, {})) {
      CHECK_FALSE(desk.book.orders_seen().outdates(order));
      if (order.content.bench == bench)
        CHECK(order.number == OrderNumber{3, ahead.sequence + 1});
      else
        CHECK(order.number.sequence == first.number.sequence + 1);
      CHECK(order.store.id == "0000000000000001");
    }
  }
  SECTION("of our name but another store") {
    auto other = stamp;
    other.store.id = "0000000000000009";
    desk.book.seen(bench, other);
    CHECK(desk.book.orders_seen().outdates(first));
  }
  SECTION("of a spare, whose store is a copy of ours") {
    auto other = stamp;
    other.instance = "spare";
    desk.book.seen(bench, other);
    CHECK(desk.book.orders_seen().outdates(first));
  }
}

TEST_CASE("we follow our lineage's epoch at once, another's once its order has expired") {
  Desk desk;
  const Order first = desk.first.front();
  const std::string bench = first.content.bench;
  const Instant now = first.issued;
  desk.book.orders_seen().self().store = {"0000000000000001", "0000000000000002"};
  OrderStamp stamp{{7, first.number.sequence},
                   now + minutes(1),
                   "spare",
                   std::nullopt,
                   {"03", "0000000000000002"}};
  SECTION("of our lineage at once") {
    desk.book.seen(bench, stamp);
    CHECK(desk.book.needs_judging(now));
    CHECK(desk.book.judge(now).empty());
    CHECK(desk.book.epoch() == 7);
    CHECK_FALSE(desk.book.needs_judging(now));
    CHECK(desk.book.changed(desk.engine, {}).empty());
  }
  SECTION("of another lineage once expired") {
    stamp.store.lineage = "0000000000000004";
    desk.book.seen(bench, stamp);
    CHECK_FALSE(desk.book.needs_judging(now));
    CHECK(desk.book.orders_seen().outdates(first));
    REQUIRE(desk.book.needs_judging(now + minutes(2)));
    desk.engine.advance(now + minutes(2), desk.outcome);
    CHECK(desk.book.judge(now + minutes(2)).empty());
    CHECK(desk.book.epoch() == 7);
    const auto again = desk.book.changed(desk.engine, {});
    REQUIRE(again.size() == 1);
    CHECK(again[0].content.bench == bench);
    CHECK(again[0].number > stamp.number);
  }
}

TEST_CASE("an unreasonable number that pumps remember is outranked after a stop") {
  Desk desk;
  const std::string bench = desk.first.front().content.bench;
  const Instant now = desk.first.front().issued;
  const OrderNumber far{3, to_seconds(now + 365 * kDay)};
  SECTION("whatever the broker holds by now") {
    desk.book.orders_seen().highest() = HighestSeen(HighestSeen::Numbers{{bench, far}});
    REQUIRE(desk.book.needs_judging(now));
    desk.book.judge(now);
    CHECK(desk.book.epoch() == 4);
    CHECK_FALSE(desk.book.needs_judging(now));
    const auto again = desk.book.changed(desk.engine, {});
    REQUIRE(again.size() == 1);
    CHECK(again[0].content.bench == bench);
    CHECK(again[0].number > far);
  }
  SECTION("but for the highest epoch of all") {
    desk.book.orders_seen().highest() =
        HighestSeen(HighestSeen::Numbers{{bench, {kMostEpoch, far.sequence}}});
    CHECK_FALSE(desk.book.needs_judging(now));
  }
}

TEST_CASE("two of one lineage that see an unreasonable order raise to the same epoch") {
  Desk main, spare;
  const std::string bench = main.first.front().content.bench;
  const Instant now = main.first.front().issued;
  const OrderStamp forged{{5, to_seconds(now + 365 * kDay)}, kForever, "x", std::nullopt, {}};
  for (Desk* desk : {&main, &spare}) {
    desk->book.orders_seen().self().store = {"", "0000000000000002"};
    desk->book.seen(bench, forged);
    const auto overruled = desk->book.judge(now);
    REQUIRE(overruled.size() == 1);
    CHECK(overruled[0].bench == bench);
    CHECK(overruled[0].outranked);
    CHECK(desk->book.epoch() == 6);
  }
  CHECK(main.book.changed(main.engine, {})[0].number ==
        spare.book.changed(spare.engine, {})[0].number);
}

TEST_CASE("when time is set back all orders are due again, in a higher epoch") {
  Desk desk;
  desk.book.orders_seen().self().history_since = at("2026-06-01T00:00:00Z");
  const Instant to = at("2025-06-28T10:00:00Z");
  desk.engine.set_back(desk.engine.now() - to, to, desk.outcome);
  desk.book.set_back(to);
  CHECK(desk.book.epoch() == 4);
  CHECK(desk.book.orders_seen().self().history_since == to);  // it began now at the latest
  CHECK(desk.book.given("long") == nullptr);
  const auto orders = desk.book.changed(desk.engine, {});
  CHECK(benches(orders) == std::set<std::string>{"cold-end", "long", "mist"});
  for (const auto& order : orders) {
    CHECK(order.number == OrderNumber{4, to_seconds(to)});
    CHECK(order.issued == to);
  }
  // And changes that add feed do not wait for the time that was wrong.
  engine::Outcome later;
  desk.engine.advance(to + hours(2), later);
  CHECK(desk.book.mark_passed(desk.engine.now()));
  CHECK(benches(desk.book.reissued(desk.engine)).size() == 3);
}
