// What the broker makes of what it is sent: too large, refused, cut off, slow, or very much of it.
#include <catch2/catch.hpp>
#include <set>

#include "core_house.h"
#include "orders/order.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

constexpr std::size_t kLargest = 16 * 1024;

std::size_t largest(const CoreHouse& house) {
  std::size_t most = 0;
  for (const auto& publication : house.published) most = std::max(most, publication.payload.size());
  return most;
}

/// Every bench of the house has been asked for a hold.
void hold_all(CoreHouse& house, int benches) {
  for (int i = 1; i <= benches; ++i)
    house.message("plainwater/testing/requests",
                  R"({"id":"all-)" + std::to_string(i) +
                      R"(","who":"Ines","request":"hold","bench":")" + CoreHouse::name(i) +
                      R"("})");
}

}  // namespace

TEST_CASE("a notice about four hundred benches is bounded, and says how many more there are") {
  CoreHouse house("", {}, 400);
  house.connect();
  house.acknowledge_all();
  house.forget();
  for (int day = 0; day < 4; ++day) {
    house.air(18, house.clock.wall);  // the others' sensors stay silent
    house.tick(hours(24));
    house.acknowledge_all();
  }
  const auto silent = house.to("notices/soon/json");
  REQUIRE_FALSE(silent.empty());
  CHECK(largest(house) <= kLargest);
  bool many = false;
  for (const auto& publication : silent) {
    const auto notice = parsed(publication.payload);
    if (notice.at("kind") != "sensor-silent") continue;
    many = true;
    const auto more = notice.at("more").to_number<std::size_t>();
    CHECK(notice.at("with").as_array().size() + more + 1 >= 400);
    CHECK(more > 0);
    CHECK_THAT(std::string(notice.at("text").as_string()), Contains(" more"));
  }
  CHECK(many);
}

TEST_CASE("a digest of hundreds of things that happened is bounded too") {
  CoreHouse house("notices: {quiet: \"\", digest: \"07:30\"}\n", {}, 200);
  house.connect();
  house.air(18, house.clock.wall);
  house.tick();
  hold_all(house, 200);
  for (int i = 1; i <= 200; ++i)
    house.message("plainwater/testing/requests",
                  R"({"id":"off-)" + std::to_string(i) +
                      R"(","who":"Ines","request":"release","bench":")" + CoreHouse::name(i) +
                      R"("})");
  for (int hour = 0; hour < 24; ++hour) {
    house.tick(hours(1));
    house.acknowledge_all();
  }
  REQUIRE_FALSE(house.to("notices/info/json").empty());
  CHECK(largest(house) <= kLargest);
}

TEST_CASE("an order that the broker refuses is no order delivered: told once, tried again") {
  CoreHouse house;
  house.connect();
  const auto rows = house.outbox_rows();
  const auto order = house.to("benches/long/order").at(0);
  house.bring(Refused{order.id, "not authorised"});
  CHECK(house.outbox_rows() == rows);  // it is still to be delivered
  CHECK(house.logged("benches/long/order"));
  house.acknowledge_all();
  house.forget();
  std::vector<int> tried;
  std::string urgent;
  for (int second = 1; second <= 700; ++second) {
    house.tick();
    for (std::size_t i = 0; i < house.published.size(); ++i) {
      const auto publication = house.published[i];
      if (publication.topic == order.topic) {
        tried.push_back(second);
        house.bring(Refused{publication.id, "not authorised"});
      } else {
        house.bring(Acknowledged{{publication.id}});
      }
    }
    if (urgent.empty()) urgent = house.said("notices/urgent/json");
    house.forget();
  }
  REQUIRE_FALSE(urgent.empty());
  CHECK(parsed(urgent).at("kind") == "order-refused");
  CHECK_THAT(urgent, Contains("benches/long/order"));
  CHECK(tried == std::vector<int>{5, 15, 35, 75, 155, 315, 615});
  CHECK(std::ranges::count_if(house.log, [](const std::string& line) {
          return line.find("benches/long/order") != std::string::npos;
        }) == 1);
  CHECK(house.core->report()->service.refused_orders == 1);
  house.tick(minutes(5));
  house.acknowledge_all();
  CHECK(house.outbox_rows() == 0);
  CHECK(house.core->report()->service.refused_orders == 0);
}

TEST_CASE("a refused order is not tried again over a newer one of another service") {
  CoreHouse house;
  house.connect();
  const auto rows = house.outbox_rows();
  house.bring(Refused{house.to("benches/long/order").at(0).id, "quota"});
  orders::Order other;
  other.content.bench = "long";
  other.issued = house.clock.wall;
  other.valid_until = house.clock.wall + hours(26);
  other.number = {1, to_seconds(house.clock.wall) + 600};
  other.instance = "spare";
  house.message("plainwater/testing/benches/long/order", to_json(other));
  house.forget();
  for (int second = 0; second < 60; ++second) house.tick();
  CHECK(house.to("benches/long/order").empty());
  CHECK(house.outbox_rows() == rows - 1);
}

TEST_CASE("what is larger than the broker takes never leaves, and is told") {
  CoreHouse house;
  house.bring(ListeningChanged{true});
  house.bring(PublisherChanged{true, 5, 400});
  house.bring(LinkChanged{true});
  house.bring(BacklogDrained{});
  house.air(18, house.clock.wall);
  CHECK(done(house.ask(kHold)));
  house.acknowledge_all();
  house.tick();
  house.acknowledge_all();
  for (const auto& publication : house.published)
    CHECK(publication.topic.size() + publication.payload.size() < 400);
  CHECK(house.said("benches/long/strength") == "0");
  CHECK(house.core->report()->service.refused_orders > 0);
  CHECK(house.logged("larger than the broker takes"));
}

TEST_CASE("a notice that makes the broker hang up is set aside; orders go out all the while") {
  CoreHouse house;
  house.connect(3);
  house.air(18, house.clock.wall);
  house.tick();
  house.acknowledge_all();
  CHECK(done(house.ask(kHold)));
  house.acknowledge_all();
  house.forget();
  house.bring(PublisherChanged{false, 0});
  for (int i = 0; i < 12; ++i) {  // two hours far below the bench's floor
    house.tick(minutes(30));
    house.air(2, house.clock.wall);
  }
  REQUIRE(house.outbox_rows() > 0);
  int cuts = 0;
  const auto is_poison = [](const broker::Publication& publication) {
    return publication.topic == "plainwater/testing/notices/urgent/json";
  };
  for (int connection = 0; connection < 20; ++connection) {
    house.forget();
    house.bring(PublisherChanged{true, 3});
    std::size_t at = 0;
    bool cut = false, ordered = false;
    for (; at < house.published.size() && !cut; ++at) {
      const auto publication = house.published[at];
      if ((cut = is_poison(publication))) break;
      ordered = ordered || publication.topic == "plainwater/testing/benches/long/order";
      house.bring(Acknowledged{{publication.id}});
    }
    CHECK(ordered);
    if (!cut) break;
    ++cuts;
    house.bring(PublisherChanged{false, 0});
    house.tick(seconds(2));
  }
  CHECK(cuts >= 3);
  CHECK(cuts <= 5);
  house.tick();
  house.acknowledge_all();
  CHECK(house.outbox_rows() == 0);  // the others went out, that one is set aside for good
  CHECK(house.logged("hung up"));
  CHECK(house.core->report()->service.set_aside == 1);
}

TEST_CASE("however slow the broker is, the newest order of each bench goes out, and no other") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.tick();
  // Nothing is acknowledged while a bench is held and released again and again.
  for (int i = 0; i < 3000; ++i) {
    const std::string id = std::to_string(i);
    house.message("plainwater/testing/requests",
                  R"({"id":"h)" + id + R"(","who":"Ines","request":")" +
                      (i % 2 == 0 ? "hold" : "release") + R"(","bench":"long"})");
  }
  house.message("plainwater/testing/requests",
                R"({"id":"last","who":"Ines","request":"hold","bench":"long"})");
  CHECK(house.published.size() < 1200);
  house.acknowledge_all();
  const auto order = parsed(house.said("benches/long/order"));
  CHECK(order.at("feeding") == "plain-water");
  CHECK(order.at("hold").is_object());
  house.tick();
  house.acknowledge_all();
  for (int i = 0; i < 100 && house.outbox_rows() > 0; ++i) {
    house.tick();
    house.acknowledge_all();
  }
  CHECK(house.outbox_rows() == 0);
}

TEST_CASE("five thousand benches all get their orders, those of plain water first") {
  constexpr int kBenches = 5000;
  CoreHouse house("", {}, kBenches);
  house.bring(ListeningChanged{true});
  house.bring(PublisherChanged{true, 5});
  house.bring(LinkChanged{true});
  house.air(18, house.clock.wall);
  house.bring(BacklogDrained{});
  house.acknowledge_all();
  std::set<std::string> orders, strengths;
  for (const auto& publication : house.published) {
    if (publication.topic.ends_with("/order")) orders.insert(publication.topic);
    if (publication.topic.ends_with("/strength")) strengths.insert(publication.topic);
  }
  CHECK(orders.size() == kBenches + 2);
  CHECK(strengths.size() == kBenches + 1);
  // Of all benches only `long` is heard for a night, and so is the only one that may have feed.
  house.warm_night();
  house.acknowledge_all();
  house.forget();
  // A night of plain water for the last of them, and a new hour for all.
  house.message("plainwater/testing/requests",
                R"({"id":"one","who":"Ines","request":"hold","bench":")" +
                    CoreHouse::name(kBenches) + R"("})");
  house.acknowledge_all();
  house.forget();
  house.tick(hours(1));
  house.acknowledge_all();
  bool fed = false;
  int plain = 0;
  for (const auto& publication : house.published) {
    if (!publication.topic.ends_with("/order")) continue;
    const bool locked = parsed(publication.payload).at("stock") == "locked";
    CHECK_FALSE((fed && locked));
    fed = fed || !locked;
    plain += locked;
  }
  CHECK(plain == kBenches + 1);
  CHECK(fed);
}
