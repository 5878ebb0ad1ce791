// An absence in the service: where urgent notices go, what restarts and failures change of it.
#include <catch2/catch.hpp>

#include "core_house.h"

using namespace plainwater;
using namespace plainwater::testing;
using Catch::Matchers::Contains;

namespace {

constexpr const char* kAway =
    R"({"id":"a-1","who":"Ines","request":"absence","until":"2026-09-20T12:00:00Z","person":"tom"})";
constexpr const char* kBack = R"({"id":"b-1","who":"Ines","request":"back"})";

struct AwayHouse : CoreHouse {
  AwayHouse() {
    auto with_people = std::make_shared<Settings>(*settings);
    with_people->people = {{"ruth", "", Role::care}, {"tom", "", Role::care}};
    settings = with_people;
    begin_anew();
    connect();
    air(18, clock.wall);
    cold_air(18, clock.wall);
    tick();
    forget();
  }
  /// Deep cold on "long", judged at once after the window for late readings.
  void chill() {
    for (int i = 0; i < 4; ++i) {
      pass(minutes(10));
      air(3, clock.wall);
      tick();
    }
  }
  /// What went to the person's topic, by the kinds in its JSON.
  std::vector<std::string> to_person(const std::string& person = "tom") const {
    std::vector<std::string> kinds;
    for (const auto& publication : to("notices/" + person + "/urgent/json")) {
      const auto notice = parsed(publication.payload);
      kinds.push_back(std::string(notice.at("kind").as_string()) + " " +
                      std::string(notice.at("state").as_string()));
    }
    CHECK(kinds.size() == to("notices/" + person + "/urgent").size());
    return kinds;
  }
  boost::json::value absence() const {
    const auto all = to("service/main");
    return all.empty() ? boost::json::value() : parsed(all.back().payload).at("absence");
  }
};

using Kinds = std::vector<std::string>;

}  // namespace

TEST_CASE("While away what is urgent goes to the person's topic too, once, and once more unheard") {
  AwayHouse house;
  REQUIRE(done(house.ask(kAway)));
  house.forget();
  house.chill();
  CHECK(house.to("notices/urgent").size() == 1);
  CHECK(house.said("notices/tom/urgent") == house.said("notices/urgent"));
  const auto begun = house.to_person();
  house.acknowledge_all();
  REQUIRE(begun == Kinds{"chill begun"});
  house.forget();
  house.restart();
  house.connect();
  house.tick();
  CHECK(house.to_person().empty());

  SECTION("nobody acknowledges it") {
    house.tick(minutes(25));
    CHECK(house.to_person() == Kinds{"chill lasting"});
    CHECK_THAT(house.said("notices/tom/urgent"),
               Contains("Nobody has acknowledged this for 30 minutes. Still: long: "));
    CHECK(house.to("notices/urgent").empty());
    house.acknowledge_all();
    house.forget();
    house.restart();
    house.connect();
    house.tick(minutes(2));
    CHECK(house.to_person().empty());
  }
  SECTION("somebody does") {
    REQUIRE(done(
        house.ask(R"({"id":"k-1","who":"tom","request":"acknowledge","notice":"chill/long"})")));
    house.forget();
    house.tick(minutes(30));
    house.tick(minutes(50));
    CHECK(house.to_person().empty());
  }
}

TEST_CASE("Without an absence, after it, and of others nothing goes to anybody's own topic") {
  AwayHouse house;
  SECTION("never away") {}
  SECTION("back") {
    REQUIRE(done(house.ask(kAway)));
    REQUIRE(done(house.ask(kBack)));
  }
  house.forget();
  house.chill();
  house.tick(minutes(40));
  CHECK(house.to("notices/urgent").size() == 1);
  CHECK(house.to_person().empty());
  CHECK(house.to_person("ruth").empty());
}

TEST_CASE("What concerns the service itself goes to the person too") {
  AwayHouse house;
  REQUIRE(done(house.ask(kAway)));
  house.break_store();
  house.forget();
  house.air(18, house.clock.wall);
  house.tick();
  CHECK(house.to_person() == Kinds{"store-unhealthy begun"});
}

TEST_CASE("A name that the settings do not have becomes no topic") {
  AwayHouse house;
  for (const char* person : {"+", "#", "tom/x", "", "anybody", "urgent"}) {
    const auto reply = house.ask(
        std::string(R"({"id":"x-)") + person +
        R"(","who":"Ines","request":"absence","until":"2026-09-20T12:00:00Z","person":")" + person +
        "\"}");
    CHECK_FALSE(done(reply));
    CHECK(problem(reply) == (*person ? "unknown-person" : "bad-value"));
  }
  house.chill();
  for (const auto& publication : house.published)
    if (publication.topic.find("/notices/") != std::string::npos)
      CHECK_THAT(publication.topic, Contains("/notices/urgent"));
}

TEST_CASE(
    "An absence is told in the heartbeat, the status and the ledger, and its end as a notice") {
  AwayHouse house;
  REQUIRE(done(house.ask(kAway)));
  house.tick(minutes(1));
  CHECK(house.absence() ==
        boost::json::parse(R"({"from":"2026-09-01T12:00:01Z","until":"2026-09-20T12:00:00Z",)"
                           R"("person":"tom"})"));
  REQUIRE(house.core->report()->service.absence);
  CHECK(house.core->report()->service.absence->in_force);
  CHECK(problem(house.ask(R"({"id":"p-1","who":"Ines","request":"arm","pump":"long"})")) == "away");
  house.forget();
  REQUIRE(done(house.ask(kBack)));
  CHECK_THAT(house.said("notices/soon"),
             Contains("Ines says that the absence is over. One request to arm or trust a pump was "
                      "refused."));
  house.tick(minutes(1));
  CHECK(house.absence().is_null());
  // The same requests again get the same answers and change nothing.
  REQUIRE(done(house.ask(kAway)));
  CHECK_FALSE(house.core->report()->service.absence);
}
