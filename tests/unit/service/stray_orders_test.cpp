// Orders that we gave to benches before the settings lost their names.
#include <catch2/catch.hpp>

#include "peer_order.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;

namespace {

constexpr const char* kOrder = "plainwater/testing/benches/old-name/order";

/// As the broker holds it: feed, in the name of `instance`, from the store `store`.
std::string feeding_order(const CoreHouse& house, const std::string& instance,
                          const std::string& store, std::int64_t sequence) {
  orders::Order order = peer_order(house, {1, sequence});
  order.content.bench = "old-name";
  order.valid_until = house.clock.wall + hours(20);
  order.instance = instance;
  order.store = {store, ""};
  return orders::to_json(order);
}

struct Renamed : CoreHouse {
  std::string store() const { return core->report()->service.store_id; }
  /// The order is at the broker when the service starts.
  void starts_with(const std::string& order) {
    bring(ListeningChanged{true});
    bring(LinkChanged{true});
    message(kOrder, order, false, true);
    bring(PublisherChanged{true, 5});
    bring(BacklogDrained{});
    air(18, clock.wall);
    tick();
    acknowledge_all();
  }
};

}  // namespace

TEST_CASE("Our order for a bench that the settings no longer name is replaced by plain water") {
  Renamed house;
  house.starts_with(feeding_order(house, "main", house.store(), 5000));
  const auto orders = house.to(kOrder);
  REQUIRE(orders.size() == 1);
  CHECK(orders[0].retain);
  const auto stamp = orders::read_stamp(orders[0].payload);
  REQUIRE(stamp);
  CHECK_FALSE(stamp->feeds);
  CHECK(stamp->number == orders::OrderNumber{1, 5001});
  CHECK(stamp->valid_until > house.clock.wall + hours(25));
  CHECK(house.said("benches/old-name/strength") == "0");
  REQUIRE(house.to("benches/old-name/placard").size() == 1);
  CHECK(house.said("benches/old-name/placard").empty());
  CHECK(house.logged("bench \"old-name\" is not in the settings any more"));
  // The echo of it is no news.
  house.message(kOrder, orders[0].payload);
  house.tick();
  CHECK(house.to(kOrder).size() == 1);
}

TEST_CASE("Orders of others for benches that we do not know are left alone") {
  Renamed house;
  SECTION("of another daemon") {
    house.starts_with(feeding_order(house, "spare", house.store(), 5000));
  }
  SECTION("of another store under our name") {
    house.starts_with(feeding_order(house, "main", "00000000000000aa", 5000));
  }
  CHECK(house.to(kOrder).empty());
}

TEST_CASE("A stray order waits for the publisher") {
  Renamed house;
  house.connect();
  house.air(18, house.clock.wall);
  house.tick();
  house.bring(PublisherChanged{false, 0});
  house.message(kOrder, feeding_order(house, "main", house.store(), 5000));
  house.tick();
  CHECK(house.to(kOrder).empty());
  house.bring(PublisherChanged{true, 5});
  house.tick();
  house.acknowledge_all();
  CHECK(house.to(kOrder).size() == 1);
  SECTION("and goes out again after a lost connection, until it has come back") {
    house.forget();
    house.bring(PublisherChanged{false, 0});
    house.bring(PublisherChanged{true, 5});
    house.tick();
    house.acknowledge_all();
    REQUIRE(house.to(kOrder).size() == 1);
    house.message(kOrder, house.said(kOrder));
    house.forget();
    house.bring(PublisherChanged{false, 0});
    house.bring(PublisherChanged{true, 5});
    house.tick();
    house.acknowledge_all();
    CHECK(house.to(kOrder).empty());
  }
}
