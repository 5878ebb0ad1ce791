// What the service does as a whole, without a broker: events in, effects out.
#include "service/core.h"

#include <boost/json.hpp>
#include <catch2/catch.hpp>

#include "core_house.h"
#include "orders/order.h"
#include "outlet/service_state.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

boost::json::object parsed(const std::string& text) {
  INFO(text);
  REQUIRE_FALSE(text.empty());
  return boost::json::parse(text).as_object();
}

bool done(const std::string& reply) { return parsed(reply).at("done").as_bool(); }
std::string problem(const std::string& reply) {
  const auto& word = parsed(reply).at("problem");
  return word.is_null() ? "" : word.as_string().c_str();
}

const std::string kHold = R"({"id":"h-1","who":"Ines","request":"hold","bench":"long"})";

}  // namespace

TEST_CASE("no order goes out before the backlog is in, and then one for every bench") {
  CoreHouse house;
  house.bring(ListeningChanged{true});
  house.bring(PublisherChanged{true, 5});
  house.bring(LinkChanged{true});
  house.air(18, house.clock.wall - hours(1), false);
  for (int i = 0; i < 100; ++i) house.tick(minutes(1));
  CHECK(house.to("benches/long/order").empty());
  CHECK(house.to("benches/long/strength").empty());
  house.bring(BacklogDrained{});
  house.acknowledge_all();
  for (const char* bench : {"long", "cold-end"}) {
    const auto order = house.to(std::string("benches/") + bench + "/order");
    REQUIRE(order.size() == 1);
    CHECK(order[0].retain);
    CHECK(order[0].expiry_s == 26 * 3600);
    CHECK(parsed(order[0].payload).at("feeding") == "plain-water");
  }
  CHECK(house.said("benches/long/strength") == "0");
  CHECK(house.to("benches/cold-end/strength").empty());  // fed by hand
}

TEST_CASE("a message is stored when it has been handled") {
  CoreHouse house;
  house.connect();
  CHECK(house.journal_rows(store::JournalKind::reading) == 0);
  house.air(18, house.clock.wall);
  CHECK(house.last.stored_input);
  CHECK(house.journal_rows(store::JournalKind::reading) == 1);
  house.air(18, house.clock.wall);  // redelivered
  CHECK(house.journal_rows(store::JournalKind::reading) == 1);
  CHECK(house.core->report()->counts.readings == 1);
}

TEST_CASE("a redelivery, a restart and a message in two halves of a backlog decide the same") {
  CoreHouse house;
  house.connect();
  for (int i = 0; i < 30; ++i) house.air(18 + i % 3, house.clock.wall - minutes(i));
  const auto before = house.core->report()->benches[1].temperature_c;
  house.restart();
  CHECK(house.core->report()->benches[1].temperature_c == before);
  house.connect();
  for (int i = 0; i < 30; ++i) house.air(18 + i % 3, house.clock.wall - minutes(i));
  CHECK(house.core->report()->counts.readings == 0);
  CHECK(house.journal_rows(store::JournalKind::reading) == 30);
}

TEST_CASE("a hold is answered, ordered and on its way before anything else waits") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  CHECK(done(house.ask(kHold)));
  REQUIRE(house.published.size() >= 2);
  CHECK(house.published[0].topic == "plainwater/testing/benches/long/order");
  CHECK(parsed(house.said("benches/long/order")).at("feeding") == "plain-water");
  CHECK(parsed(house.said("benches/long/order")).at("hold").is_object());
  CHECK(house.last.decisions.size() == 1);
  CHECK(house.last.news);
  // The same again: the same answer, and nothing happens.
  CHECK(done(house.ask(kHold)));
  CHECK(house.to("benches/long/order").empty());
}

TEST_CASE("what was acknowledged is struck off the outbox, many at once") {
  CoreHouse house;
  house.connect();
  CHECK(house.outbox_rows() > 0);
  CHECK(house.core->report()->service.on_the_way == house.outbox_rows());
  house.acknowledge_all();
  CHECK(house.outbox_rows() == 0);
  CHECK(house.core->report()->service.on_the_way == 0);
}

TEST_CASE("what the broker refuses is told and not sent again for ever") {
  CoreHouse house;
  house.connect();
  const auto rows = house.outbox_rows();
  REQUIRE_FALSE(house.published.empty());
  const auto order = house.to("benches/long/order").at(0).id;
  house.bring(Refused{order, "not authorised"});
  CHECK(house.logged("the broker refused a message: not authorised"));
  CHECK(house.outbox_rows() == rows - 1);
}

TEST_CASE("after a lost connection orders are given anew and notices sent again") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.tick();
  house.ask(kHold);
  house.acknowledge_all();
  house.forget();
  house.bring(PublisherChanged{false, 0});
  house.tick(minutes(1));
  CHECK(done(house.ask(R"({"id":"h-2","who":"Ines","request":"hold","bench":"cold-end"})") ==
                     ""  // nobody hears the answer
                 ? R"({"done":true})"
                 : R"({"done":false})"));
  CHECK(house.published.empty());
  house.bring(PublisherChanged{true, 5});
  house.acknowledge_all();
  CHECK(parsed(house.said("benches/cold-end/order")).at("feeding") == "plain-water");
  CHECK_FALSE(house.said("notices/soon").empty());
  CHECK(house.outbox_rows() == 0);
}

TEST_CASE("over MQTT 3.1.1 orders are repeated and not retained") {
  CoreHouse house;
  house.connect(3);
  house.air(18, house.clock.wall);
  house.acknowledge_all();
  REQUIRE(house.to("benches/long/order").size() == 1);
  CHECK_FALSE(house.to("benches/long/order")[0].retain);
  house.tick();
  house.acknowledge_all();
  house.forget();
  for (int i = 0; i < 300; ++i) house.tick();
  CHECK(house.to("benches/long/order").size() == 1);
  CHECK(house.to("benches/long/placard").size() == 1);
  CHECK(house.to("benches/long/strength").size() == 1);
}

TEST_CASE("orders are given again at each full hour") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  house.forget();
  house.tick(minutes(59));
  CHECK(house.to("benches/long/order").empty());
  house.tick(minutes(1));
  CHECK(house.to("benches/long/order").size() == 1);
}

TEST_CASE("a clock in 1970 decides nothing, takes nothing and gives plain water") {
  CoreHouse house;
  house.clock.wall = from_seconds(100);
  house.clock.synchronised = false;
  house.restart();
  house.bring(PublisherChanged{true, 5});
  house.tick();
  CHECK_FALSE(house.last.listen);  // what comes waits at the broker
  CHECK(house.said("benches/long/strength") == "0");
  CHECK(house.to("benches/long/order").empty());
  CHECK(house.logged("every bench gets plain water; set the clock"));
  for (int i = 0; i < 3600; ++i) house.tick();
  CHECK(house.to("benches/long/order").empty());
  CHECK(house.journal_rows(store::JournalKind::tick) == 0);
  CHECK(std::ranges::count_if(house.log, [](const std::string& line) {
          return line.find("set the clock") != std::string::npos;
        }) == 1);
  house.clock.wall = at("2026-09-01T12:00:00Z");
  house.clock.synchronised = true;
  house.tick();
  CHECK(house.last.listen);
  house.connect();
  CHECK_FALSE(house.to("benches/long/order").empty());
}

TEST_CASE("a clock that jumps is not believed, and nothing is released by it") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.ask(kHold);
  const auto before = house.core->report()->service.now;
  house.clock.wall += 366 * kDay;
  house.tick();
  const auto report = house.core->report();
  CHECK_FALSE(report->service.clock_settled);
  CHECK(report->service.now - before <= seconds(2));
  CHECK(report->benches[1].hold.has_value());
  CHECK(house.journal_rows(store::JournalKind::clock) == 1);
  house.clock.wall -= 366 * kDay;
  house.tick();
  CHECK(house.core->report()->service.clock_settled);
  CHECK(house.journal_rows(store::JournalKind::clock) == 2);
  // A leap second is nothing.
  house.clock.wall -= seconds(1);
  house.tick();
  CHECK(house.core->report()->service.clock_settled);
  CHECK(house.journal_rows(store::JournalKind::clock) == 2);
}

TEST_CASE("without its broker nights close after a day, and not before") {
  CoreHouse house;
  house.connect();
  for (int hour = 0; hour < 20; ++hour) {
    house.air(15, house.clock.wall);
    house.tick(hours(1));
  }
  house.bring(LinkChanged{false});
  house.bring(ListeningChanged{true});  // tries again, in vain
  const auto night = [&] { return house.core->report()->benches[1].night; };
  const auto before = night();
  for (int hour = 0; hour < 23; ++hour) house.tick(hours(1));
  CHECK(night() == before);
  for (int hour = 0; hour < 24; ++hour) house.tick(hours(1));
  CHECK(night() > before);
}

TEST_CASE("a broker that was away is told of once it is back, with from and to") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.tick();
  house.bring(LinkChanged{false});
  house.tick(hours(2));
  house.bring(LinkChanged{true});
  house.forget();
  house.bring(BacklogDrained{});
  CHECK_THAT(house.said("notices/soon") + house.said("notices/info"),
             Contains("The broker was away from 2026-09-01 13:00 to 2026-09-01 15:00"));
  house.acknowledge_all();
  house.forget();
  house.bring(LinkChanged{false});
  house.tick(seconds(5));
  house.bring(LinkChanged{true});
  house.bring(BacklogDrained{});
  CHECK(house.to("notices/info").empty());  // a moment is not worth a word
  CHECK(house.to("notices/soon").empty());
}

TEST_CASE("while the store fails messages are held, nothing is ordered, and nothing is lost") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.acknowledge_all();
  house.break_store();
  house.forget();
  house.air(19, house.clock.wall + seconds(1));
  CHECK_FALSE(house.last.listen);
  CHECK(house.core->report()->service.held == 1);
  CHECK_FALSE(house.core->report()->service.store_usable);
  CHECK(house.logged("nothing is ordered until it works again"));
  house.ask(kHold);
  CHECK(house.published.empty());
  CHECK(house.core->report()->service.held == 2);
  house.tick(seconds(10));
  CHECK(house.core->report()->service.held == 2);
  CHECK_THAT(house.said("service/main"), Contains("no such table"));
  CHECK_FALSE(house.said("notices/urgent").empty());

  house.mend_store();
  house.tick(seconds(10));
  while (house.last.more) house.bring(GoOn{});
  CHECK(house.core->report()->service.held == 0);
  CHECK(house.last.listen);
  CHECK(house.journal_rows(store::JournalKind::reading) == 2);
  CHECK(house.journal_rows(store::JournalKind::request) == 1);
  CHECK(house.core->report()->benches[1].hold.has_value());
  house.bring(BacklogDrained{});
  house.acknowledge_all();
  CHECK(parsed(house.said("benches/long/order")).at("hold").is_object());
}

TEST_CASE("what waits is taken a piece at a time, so that a slow disk does not hide our life") {
  CoreHouse house;
  house.connect();
  house.break_store();
  for (int i = 0; i < 50; ++i) house.air(18, house.clock.wall + seconds(i));
  CHECK(house.core->report()->service.held == 50);
  house.mend_store();
  house.tick(seconds(10));
  CHECK(house.core->report()->service.held == 49);
  CHECK(house.last.more);
  CHECK_FALSE(house.last.listen);
  int more = 0;
  for (; house.last.more; ++more) house.bring(GoOn{});
  CHECK(more == 49);
  CHECK(house.journal_rows(store::JournalKind::reading) == 50);
}

TEST_CASE("a slow disk is told for two minutes, in every place that asks") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.bring(Took{std::chrono::milliseconds(999), true});
  CHECK_FALSE(house.core->report()->service.store_slow);
  house.forget();
  house.bring(Took{std::chrono::seconds(3), true});
  CHECK(house.core->report()->service.store_slow);
  house.tick();
  house.acknowledge_all();
  CHECK_THAT(house.said("service/main"), Contains("slow: it took 3.0 s to store something"));
  CHECK_THAT(house.said("notices/soon"), Contains("3.0 s"));
  CHECK(house.last.status == std::nullopt);  // told by the tick
  house.bring(Took{std::chrono::seconds(2), true});
  CHECK(std::ranges::count_if(house.log, [](const std::string& line) {
          return line.starts_with("the store is slow");
        }) == 1);
  house.tick(minutes(2) + seconds(1));
  CHECK_FALSE(house.core->report()->service.store_slow);
  CHECK_THAT(house.said("service/main"), Contains("\"store\":\"healthy\""));
  CHECK(house.core->report()->counts.writes.sum() == Approx(5.999));
}

TEST_CASE("a heartbeat goes out each minute, at each change, and soon after refusals") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  house.forget();
  for (int i = 0; i < 59; ++i) house.tick();
  CHECK(house.to("service/main").empty());
  house.tick();
  CHECK(house.to("service/main").size() == 1);
  CHECK(house.to("service/main")[0].expiry_s == outlet::kServiceExpiry.count());
  house.acknowledge_all();
  house.forget();
  house.message("air/nobody", "1");
  for (int i = 0; i < 9; ++i) house.tick();
  CHECK(house.to("service/main").empty());
  house.tick();
  CHECK_THAT(house.said("service/main"), Contains("\"unmapped-topic\":1"));
  house.acknowledge_all();
  house.forget();
  house.bring(LinkChanged{false});
  house.tick();
  CHECK_THAT(house.said("service/main"), Contains("\"backlog\":true"));
  CHECK(house.last.status == "healthy, waiting for the broker");
}

TEST_CASE("our order is not published over a newer one of another service") {
  CoreHouse house;
  house.bring(ListeningChanged{true});
  house.bring(PublisherChanged{true, 5});
  house.bring(LinkChanged{true});
  orders::Order other;
  other.content.bench = "long";
  other.issued = house.clock.wall;
  other.valid_until = house.clock.wall + hours(26);
  other.number = {1, to_seconds(house.clock.wall) + 600};
  other.instance = "spare";
  house.message("plainwater/testing/benches/long/order", to_json(other), false, true);
  house.bring(BacklogDrained{});
  house.acknowledge_all();
  CHECK(house.to("benches/long/order").empty());
  CHECK(house.to("benches/cold-end/order").size() == 1);
  CHECK(house.logged("the broker holds a newer one"));
  house.tick();
  CHECK(house.outbox_rows() == 0);
  const auto report = house.core->report();
  CHECK_FALSE(report->orders.at("long").in_force(report->service.now));
  CHECK(report->orders.at("cold-end").in_force(report->service.now));
}

TEST_CASE("requests are answered by their faults, and only where replies belong") {
  CoreHouse house;
  house.connect();
  CHECK(problem(house.ask("{")) == "not-json");
  CHECK(problem(house.ask(R"({"id":"1","who":"a","request":"hold","bench":"none"})")) ==
        "unknown-bench");
  CHECK(house.core->report()->service.refused_requests.at("unknown-bench") == 1);
  house.forget();
  const std::string topic = "plainwater/testing/requests";
  broker::Message message;
  message.topic = topic;
  message.payload = kHold;
  message.after_fence = true;
  message.response_topic = "plainwater/testing/benches/long/order";
  house.bring(message);
  CHECK(house.to("benches/long/order").size() == 1);  // the hold's own
  CHECK(house.core->report()->counts.replies_not_sent == 1);
  house.forget();
  house.message(topic, R"({"id":"r","who":"a","request":"release","bench":"long"})", true, true);
  CHECK(house.published.empty());
  CHECK(house.core->report()->benches[1].hold.has_value());
}

TEST_CASE("a notice is acknowledged by its id, the house's own too") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.bring(Took{std::chrono::seconds(2), true});
  house.tick();
  REQUIRE(house.core->report()->open.contains("store-slow"));
  CHECK(done(
      house.ask(R"({"id":"a-1","who":"Ines","request":"acknowledge","notice":"store-slow"})")));
  CHECK(house.core->report()->open.at("store-slow").acknowledged_by == "Ines");
  CHECK(problem(
            house.ask(R"({"id":"a-2","who":"Ines","request":"acknowledge","notice":"no-such"})")) ==
        "nothing-to-acknowledge");
}

TEST_CASE("an orderly stop keeps the state and says offline") {
  CoreHouse house;
  house.connect();
  house.air(18, house.clock.wall);
  house.forget();
  house.bring(Stop{});
  CHECK(house.last.stored);
  CHECK_THAT(house.said("service/main"), Contains("offline"));
  house.restart();
  CHECK(house.logged("read back: 0 journal rows after the last snapshot"));
}

TEST_CASE("while the time comes from the readings no real pump is armed") {
  const std::string more = "clock: {time: readings}\n";
  CoreHouse house(more);
  house.connect();
  const std::string arm = R"({"id":"a","who":"Ines","request":"arm","pump":"long"})";
  CHECK(problem(house.ask(R"({"id":"b","who":"Ines","request":"hold","bench":"long"})")) ==
        "no-time-yet");
  house.air(18, house.clock.wall);
  CHECK(problem(house.ask(arm)) == "time-from-readings");
  CoreHouse trial(more, {.stand_in_pumps = true});
  trial.connect();
  trial.air(18, trial.clock.wall);
  CHECK(done(trial.ask(arm)));
  trial.core.reset();
  const auto refused = Core::open(trial.settings, {}, trial.clock);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().where == "clock.time");
}
