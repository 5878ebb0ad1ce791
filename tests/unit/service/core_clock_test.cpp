// What the core does about clocks, and about a broker that is away.
#include <catch2/catch.hpp>

#include "core_house.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

TEST_CASE("a clock in 1970 decides nothing, takes nothing and gives plain water") {
  CoreHouse house;
  house.clock.wall = from_seconds(100);
  house.clock.synchronised = false;
  house.begin_anew();
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
  CHECK(house.journal_rows(store::JournalKind::clock) > 0);
  house.clock.wall -= 366 * kDay;
  house.tick();
  CHECK(house.core->report()->service.clock_settled);
  const int rows = house.journal_rows(store::JournalKind::clock);
  // A leap second is nothing.
  house.clock.wall -= seconds(1);
  house.tick();
  CHECK(house.core->report()->service.clock_settled);
  CHECK(house.journal_rows(store::JournalKind::clock) == rows);
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
  house.acknowledge_all();
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
