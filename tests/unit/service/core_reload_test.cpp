// Other settings while the service runs.
#include <catch2/catch.hpp>

#include "core_house.h"
#include "settings/load.h"

using namespace plainwater;
using namespace plainwater::service;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

constexpr const char* kAskReload = R"({"id":"r-1","who":"Ines","request":"reload"})";

/// Fed by its night, connected, all orders at the broker.
struct RunningHouse : CoreHouse {
  RunningHouse() {
    connect();
    warm_night();
    acknowledge_all();
    forget();
  }
  /// The link has subscribed anew, and all that the broker retains is in.
  void drained_again() {
    bring(BacklogDrained{});
    acknowledge_all();
  }
};

}  // namespace

TEST_CASE("a hold goes on under other settings, and no order goes out before the fence") {
  RunningHouse house;
  CHECK(done(house.ask(kHold)));
  house.acknowledge_all();
  house.forget();
  REQUIRE(house.reload(house.edited("group: cool", "group: warm")) == "");
  house.tick();
  CHECK(house.to("benches/long/order").empty());
  house.drained_again();
  const auto order = parsed(house.said("benches/long/order"));
  CHECK(order.at("hold").is_object());
  CHECK(order.at("stock") == "locked");
  CHECK(house.journal_rows(store::JournalKind::settings) == 2);
  // A start finds the same.
  house.restart();
  house.connect();
  CHECK(house.journal_rows(store::JournalKind::settings) == 2);
  CHECK(parsed(house.said("benches/long/order")).at("hold") == order.at("hold"));
}

TEST_CASE("the same settings again change nothing that is recorded") {
  RunningHouse house;
  REQUIRE(house.reload(load_settings_text(house.settings->text, "testing.yaml").settings) == "");
  house.drained_again();
  CHECK(house.journal_rows(store::JournalKind::settings) == 1);
  CHECK_FALSE(house.said("benches/long/order").empty());
}

TEST_CASE("connections, counts and what is on its way stay") {
  RunningHouse house;
  const auto before = house.core->report();
  house.message("plainwater/testing/requests", "nonsense");
  CHECK(done(house.ask(kHold)));  // its order is handed over, not yet acknowledged
  const auto waiting = house.core->report()->service.on_the_way;
  REQUIRE(waiting > 0);
  REQUIRE(house.reload(house.edited("group: cool", "group: warm")) == "");
  house.drained_again();
  const auto after = house.core->report();
  CHECK(after->service.publishing);
  CHECK(after->service.listening);
  CHECK(after->service.started == before->service.started);
  CHECK(after->service.readings == before->service.readings);
  CHECK(after->service.refused_requests.at("not-json") == 1);
  CHECK(after->service.on_the_way == 0);  // the acknowledgements of before were understood
  CHECK(house.outbox_rows() == 0);
}

TEST_CASE("a bench that left gets plain water at once, whatever the broker shows") {
  RunningHouse house;
  CHECK(done(house.ask(R"({"id":"a-1","who":"Ines","request":"arm","pump":"long"})")));
  house.acknowledge_all();
  CHECK(parsed(house.said("benches/long/order")).at("stock") == "open");
  house.forget();
  std::string text = house.settings->text;
  for (const char* part : {"  long: {group: intermediate, sensors: [long-air]}\n",
                           "pumps:\n  long: {benches: [long]}\n"})
    text.erase(text.find(part), std::string(part).size());
  const auto loaded = load_settings_text(text, "testing.yaml");
  REQUIRE(loaded.settings);
  REQUIRE(house.reload(loaded.settings) == "");
  house.drained_again();
  house.tick();
  house.acknowledge_all();
  CHECK(parsed(house.said("benches/long/order")).at("stock") == "locked");
  CHECK(house.said("benches/long/strength") == "0");
}

TEST_CASE("what needs a restart is refused, and all stays") {
  RunningHouse house;
  CHECK_THAT(house.reload(house.edited("durability: process", "durability: power")),
             Contains("store.durability cannot change while the service runs"));
  CHECK_THAT(house.reload(house.edited("name: testing", "name: other")), Contains("site.name"));
  CHECK(done(house.ask(kHold)));
  CHECK(house.journal_rows(store::JournalKind::settings) == 1);
}

TEST_CASE("settings without a broker, which no start would take, are refused") {
  RunningHouse house;
  CHECK_THAT(house.reload(house.edited("url: \"mqtt://127.0.0.1:1\"", "url: \"\"")),
             Contains("name no broker"));
}

TEST_CASE("a clock in doubt stays in doubt: nobody has vouched for it by an edit") {
  RunningHouse house;
  const Instant before = house.core->report()->service.now;
  house.clock.wall += 10 * kDay;
  house.tick();
  REQUIRE_FALSE(house.core->report()->service.clock_settled);
  REQUIRE(house.reload(house.edited("group: cool", "group: warm")) == "");
  house.drained_again();
  house.tick();
  CHECK_FALSE(house.core->report()->service.clock_settled);
  CHECK(house.core->report()->service.now - before < hours(1));
}

TEST_CASE("order numbers go on, over MQTT 3.1.1 too, where nothing comes back from the broker") {
  CoreHouse house;
  house.connect(3);
  house.warm_night();
  house.acknowledge_all();
  const auto number = [&] {
    return parsed(house.said("benches/long/order")).at("sequence").as_int64();
  };
  for (int i = 0; i < 5; ++i) {
    house.acknowledge_all();
    CHECK(done(house.ask(R"({"id":"h-)" + std::to_string(i) +
                         R"(","who":"Ines","request":"hold","bench":"long"})")));
    house.acknowledge_all();
    CHECK(done(house.ask(R"({"id":"r-)" + std::to_string(i) +
                         R"(","who":"Ines","request":"release","bench":"long","full":true})")));
    house.acknowledge_all();
  }
  const auto before = number();
  REQUIRE(house.reload(house.edited("group: cool", "group: warm")) == "");
  house.forget();
  house.bring(BacklogDrained{});
  CHECK(number() > before);
}

TEST_CASE("a store that cannot be written keeps the settings as they were") {
  RunningHouse house;
  house.break_store();
  CHECK_FALSE(house.reload(house.edited("group: cool", "group: warm")).empty());
  CHECK(house.core->report()->benches.size() == 2);
  house.mend_store();
  house.tick(seconds(6));
  house.tick(seconds(6));
  REQUIRE(house.reload(house.edited("group: cool", "group: warm")) == "");
  CHECK(house.journal_rows(store::JournalKind::settings) == 2);
}

TEST_CASE("whoever asks for a reload gets its answer when it is done") {
  RunningHouse house;
  CHECK(house.ask(kAskReload) == "");
  REQUIRE(house.last.reload);
  CHECK(house.last.reload->who == "Ines");
  const auto asked = *house.last.reload;
  REQUIRE(house.reload(house.edited("group: cool", "group: warm")) == "");
  house.bring(Reloaded{
      asked, {true, "", words::say("request.reload-same", {{"file", words::name("a.yaml")}})}});
  const auto reply = house.said("plainwater/testing/replies/test");
  CHECK(done(reply));
  CHECK(parsed(reply).at("id") == "r-1");
  // A late one is refused, like any request.
  CHECK(problem(house.ask(R"({"id":"r-2","who":"Ines","request":"reload",)"
                          R"("expires":"2026-08-01T00:00:00Z"})")) == "expired");
  CHECK_FALSE(house.last.reload);
}
