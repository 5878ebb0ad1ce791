// What the core does about its store, and tells of itself.
#include <catch2/catch.hpp>

#include "core_house.h"
#include "outlet/service_state.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

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

TEST_CASE("a store that fails is told once, whatever was being written") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.execute("ALTER TABLE outbox RENAME TO gone");
  house.acknowledge_all();  // rows are struck off
  CHECK(house.logged("nothing is ordered until it works again"));
  CHECK_FALSE(house.last.listen);
  house.execute("ALTER TABLE gone RENAME TO outbox");
  house.tick(seconds(10));
  CHECK(house.last.listen);
  house.tick();
  house.acknowledge_all();  // all orders are given anew
  CHECK(house.outbox_rows() == 0);
}

TEST_CASE("a store that fails again in the moment of its recovery says why, each time") {
  CoreHouse house;
  house.connect();
  house.break_store();
  house.air(18, house.clock.wall);
  house.mend_store();
  house.tick(seconds(10));
  house.break_store();
  house.bring(GoOn{});
  house.tick(seconds(10));
  CHECK(std::ranges::count_if(house.log, [](const std::string& line) {
          return line.starts_with("the store failed, nothing is ordered");
        }) == 2);
  house.mend_store();
  house.tick(seconds(10));
  while (house.last.more) house.bring(GoOn{});
  CHECK(house.journal_rows(store::JournalKind::reading) == 1);
}

TEST_CASE("what is acknowledged while the store fails is not sent again once it works") {
  CoreHouse house;
  house.connect();
  house.tick();
  house.acknowledge_all();
  house.forget();
  for (int i = 0; i < 36; ++i) {  // far below the bench's floor: an urgent notice
    house.tick(minutes(10));
    house.air(2, house.clock.wall);
  }
  REQUIRE_FALSE(house.to("notices/urgent").empty());
  house.break_store();
  house.air(2, house.clock.wall + seconds(1));
  house.acknowledge_all();
  house.forget();
  house.mend_store();
  house.tick(seconds(10));
  while (house.last.more) house.bring(GoOn{});
  house.acknowledge_all();
  CHECK(house.to("notices/urgent").empty());
  CHECK(house.outbox_rows() == 0);
}

TEST_CASE("what waits is taken a piece at a time, so that a slow disk does not hide our life") {
  CoreHouse house;
  house.connect();
  house.break_store();
  for (int i = 0; i < 50; ++i) house.air(18, house.clock.wall + seconds(i));
  CHECK(house.core->report()->service.held == 50);
  house.mend_store();
  house.tick(seconds(10));
  CHECK(house.core->report()->service.held == 50);
  CHECK(house.last.more);
  CHECK_FALSE(house.last.listen);
  int more = 0;
  for (; house.last.more; ++more) house.bring(GoOn{});
  CHECK(more == 50);
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
  house.message("plainwater/testing/benches/long/dosed", R"({"litres":-2})");
  for (int i = 0; i < 10; ++i) house.tick();
  CHECK_THAT(house.said("service/main"), Contains("\"dose-bad-value\":1"));
  house.acknowledge_all();
  house.forget();
  house.bring(LinkChanged{false});
  house.tick();
  CHECK_THAT(house.said("service/main"), Contains("\"backlog\":true"));
  CHECK(house.last.status == "healthy, waiting for the broker");
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
