// The day's work: what needs a person and what can be asked for beside it, what people did today,
// what comes next.
#include "board/today.h"

#include <algorithm>

#include "outlet/local_time.h"
#include "shown_house.h"

using namespace plainwater;
using namespace plainwater::board;
using Catch::Contains;
using feeding::RequestKind;

namespace {

struct Worked : ShownHouse {
  Worked() { days(20, 17); }
  json::object today(const status::Status& status) const {
    const auto local = must(outlet::LocalTime::of(settings->site.time_zone));
    return parsed(must(today_json(*store, status, *settings, local))).as_object();
  }
  json::object today() const { return today(shown()); }
  /// The asks beside the only thing that needs a person.
  std::string asks(const status::Status& status) const {
    const auto all = today(status).at("do").as_array();
    REQUIRE(all.size() == 1);
    return json::serialize(all[0].as_object().at("asks"));
  }
};

feeding::Request wish(const char* id, RequestKind kind, const char* bench) {
  feeding::Request made;
  made.id = id;
  made.kind = kind;
  made.bench = bench;
  return made;
}
std::vector<std::string> all_of(const json::value& list, const char* key = "text") {
  std::vector<std::string> all;
  for (const auto& one : list.as_array())
    all.emplace_back(one.as_object().at(key).is_null() ? "null" : one.at(key).as_string().c_str());
  return all;
}

}  // namespace

TEST_CASE("a day without work has empty lists") {
  const Worked house;
  const auto today = house.today();
  for (const char* list : {"do", "acknowledged", "done", "next"})
    CHECK(today.at(list).as_array().empty());
}

TEST_CASE("beside each trouble stand the requests that answer it") {
  Worked house;
  auto status = house.shown();

  SECTION("a pump that disobeyed") {
    status.pumps[0].trusted = false;
    CHECK(house.asks(status) == R"([{"request":"trust","pump":"line"}])");
    status.open["pump-untrusted/line"] = {status.service.now, ""};
    CHECK(
        house.asks(status) ==
        R"([{"request":"trust","pump":"line"},{"request":"acknowledge","notice":"pump-untrusted/line"}])");
  }
  SECTION("a chill may be ended, but not while it is deep") {
    auto& bench = status.benches[2];
    bench.chilled_until = status.service.now + kDay;
    const double floor_c = chill_floor_c(house.settings->benches[2]);
    bench.temperature_c = floor_c - 1;
    CHECK(house.asks(status) == R"([{"request":"end-chill","bench":"mist"}])");
    bench.temperature_c = floor_c - 3;
    CHECK(house.asks(status) == "[]");
    bench.temperature_c = climate::kUnknown;
    CHECK(house.asks(status) == R"([{"request":"end-chill","bench":"mist"}])");
  }
  SECTION("a question, by its cause") {
    const std::pair<const char*, const char*> cases[] = {
        {"grower", R"({"request":"release","bench":"long"},{"request":"extend","bench":"long"},)"},
        {"cap",
         R"({"request":"hold","bench":"long"},{"request":"growth-started","bench":"long"},)"},
        {"cool-nights", R"({"request":"growth-started","bench":"long"},)"},
        {"yearly-budget", R"({"request":"exempt","bench":"long"},)"},
        {"blind", R"({"request":"hold","bench":"long"},)"},
        {"shared-pump", R"({"request":"watered","bench":"long"},)"}};
    for (const auto& [cause, asks] : cases) {
      INFO(cause);
      status.benches[1].questions = {{cause, words::as_it_is("Well?")}};
      CHECK(house.asks(status) ==
            "[" + std::string(asks) + R"({"request":"acknowledge","bench":"long"}])");
    }
  }
  SECTION("a bench that left the settings") {
    status.gone = {"old"};
    CHECK(house.asks(status) == R"([{"request":"retire","bench":"old"}])");
  }
  SECTION("a flush") {
    status.benches[2].flush_l = 12.44;
    CHECK(
        house.asks(status) ==
        R"([{"request":"watered","bench":"mist","litres":1.24E1,"strength_percent":0},{"request":"runoff","bench":"mist"}])");
  }
  SECTION("a store that fails is not acknowledged away") {
    status.service.store_usable = false;
    status.open["store-unhealthy"] = {status.service.now, ""};
    CHECK(house.asks(status) == "[]");
  }
}

TEST_CASE("what somebody has acknowledged stands apart, and is not acknowledged again") {
  Worked house;
  auto status = house.shown();
  status.pumps[0].trusted = false;
  status.benches[1].blind = true;
  status.open["pump-untrusted/line"] = {status.service.now, "Ines"};
  status.open["blind/long"] = {status.service.now, ""};
  const auto today = house.today(status);
  REQUIRE(today.at("do").as_array().size() == 1);
  CHECK(today.at("do").at(0).at("need").at("kind") == "blind");
  REQUIRE(today.at("acknowledged").as_array().size() == 1);
  const auto& seen = today.at("acknowledged").at(0);
  CHECK(seen.at("need").at("acknowledged_by") == "Ines");
  CHECK(json::serialize(seen.at("asks")) == R"([{"request":"trust","pump":"line"}])");
}

TEST_CASE("what people asked for today is told by whom, the newest first, and no refusal") {
  Worked house;
  // Midnight of the site is 23:00 in UTC.
  house.now = at("2026-09-14T22:59:00Z");
  house.ask(wish("late", RequestKind::hold, "long"));
  house.now = at("2026-09-14T23:01:00Z");
  auto watered = wish("w1", RequestKind::watered, "mist");
  watered.litres = 4.5;
  watered.who = "Tom";
  house.ask(watered);
  house.now = at("2026-09-15T08:00:00Z");
  house.ask(wish("early", RequestKind::release, "long"));
  CHECK_FALSE(house.take(wish("none", RequestKind::release, "long")).done);
  house.now = at("2026-09-15T09:00:00Z");
  house.ask(watered);  // repeated: nothing new was done
  feeding::Request arm;
  arm.id = "arm";
  arm.kind = RequestKind::arm;
  arm.pump = "line";
  house.ask(arm);

  auto status = house.shown();
  status.seen = {{at("2026-09-15T08:30:00Z"), "Bea", "", "line",
                  words::as_it_is("Pump line disobeyed.") + words::as_it_is("Repair it.")},
                 {at("2026-09-14T12:00:00Z"), "Bea", "long", "", words::as_it_is("Old.")}};
  const auto done = house.today(status).at("done");
  CHECK(all_of(done, "request") ==
        std::vector<std::string>{"arm", "acknowledge", "release", "watered"});
  CHECK(all_of(done, "who") == std::vector<std::string>{"Ines", "Bea", "Ines", "Tom"});
  CHECK(all_of(done, "time") ==
        std::vector<std::string>{"2026-09-15T09:00:00Z", "2026-09-15T08:30:00Z",
                                 "2026-09-15T08:00:00Z", "2026-09-14T23:01:00Z"});
  CHECK(all_of(done, "pump") == std::vector<std::string>{"line", "line", "null", "null"});
  CHECK(all_of(done)[1] == "Acknowledged: Pump line disobeyed.");
  CHECK_THAT(all_of(done)[3], Contains("4.5 L") && Contains("mist"));

  house.now = at("2026-09-15T23:00:00Z");
  engine::Outcome out;
  house.engine.advance(house.now, out);
  CHECK(house.today().at("done").as_array().empty());
}

TEST_CASE("an id that belonged to another request is no deed of today") {
  Worked house;
  house.now = at("2026-09-15T08:00:00Z");
  house.ask(wish("same", RequestKind::hold, "long"));
  CHECK_FALSE(house.take(wish("same", RequestKind::hold, "mist")).done);
  const auto done = house.today().at("done");
  REQUIRE(done.as_array().size() == 1);
  CHECK(done.at(0).at("bench") == "long");
}

TEST_CASE("what comes next is told with its day, the soonest first") {
  Worked house;
  auto status = house.shown();
  status.service.now = at("2026-09-14T12:00:00Z");
  const Instant now = status.service.now;

  SECTION("holds that end within a week") {
    feeding::HoldView hold;
    hold.cause = feeding::Cause::sharp_drop;
    hold.planned_end = now + 7 * kDay;
    status.benches[0].hold = hold;
    hold.cause = feeding::Cause::grower;
    hold.planned_end = now + 2 * kDay;
    status.benches[1].hold = hold;
    hold.planned_end = now + 8 * kDay;
    status.benches[2].hold = hold;
    const auto next = house.today(status).at("next");
    CHECK(all_of(next) ==
          std::vector<std::string>{"The hold ends on 16 September, as it was asked for.",
                                   "The hold ends about 21 September."});
    CHECK(all_of(next, "kind") == std::vector<std::string>{"hold-ends", "hold-ends"});
    CHECK(all_of(next, "bench") == std::vector<std::string>{"long", "cold-end"});
    CHECK(json::serialize(next.at(0).at("asks")) ==
          R"([{"request":"release","bench":"long"},{"request":"extend","bench":"long"}])");
  }
  SECTION("a hold that is decided") {
    feeding::HoldView hold;
    hold.cause = feeding::Cause::sharp_drop;
    hold.provisional = true;
    hold.judged_from = now - 8 * kDay;
    hold.planned_end = now + 20 * kDay;
    status.benches[0].hold = hold;
    const auto next = house.today(status).at("next");
    REQUIRE(next.as_array().size() == 1);
    CHECK(next.at(0).at("kind") == "hold-decides");
    CHECK_THAT(all_of(next)[0], Contains("By about") && Contains("September"));
  }
  SECTION("announced holds, however far ahead") {
    feeding::Announced announced;
    announced.from = at("2026-10-11T23:00:00Z");
    announced.until = at("2026-11-01T00:00:00Z");
    announced.who = "Tom";
    announced.note = "repotting";
    status.benches[1].announced = {announced};
    const auto next = house.today(status).at("next");
    CHECK(all_of(next) == std::vector<std::string>{
                              "Plain water from 12 October until 1 November, announced by Tom. "
                              "Note: repotting"});
    CHECK(next.at(0).at("time") == "2026-10-11T23:00:00Z");
  }
  SECTION("exemptions that end") {
    status.benches[0].exempt_until = now + 3 * kDay;
    status.benches[1].exempt_until = now + 30 * kDay;
    status.benches[2].cold_passes_until = now + kDay;
    const auto next = house.today(status).at("next");
    CHECK(all_of(next, "bench") == std::vector<std::string>{"mist", "cold-end"});
    CHECK_THAT(all_of(next)[1], Contains("Exempt until 17 September"));
  }
  SECTION("a sensor to look at, once somebody knows of it") {
    auto& sensor = *std::ranges::find(status.sensors, "long-b", &engine::SensorNow::name);
    sensor.trusted = false;
    sensor.doubt = "stuck";
    sensor.doubted_since = at("2026-09-11T23:30:00Z");
    CHECK(house.today(status).at("next").as_array().empty());
    status.open["sensor-doubted/long-b"] = {sensor.doubted_since, "Ines"};
    const auto next = house.today(status).at("next");
    REQUIRE(next.as_array().size() == 1);
    CHECK(next.at(0).at("time").is_null());
    CHECK_THAT(all_of(next)[0], Contains("long-b") && Contains("since 12 September") &&
                                    Contains("good for 1 hour."));
  }
}

TEST_CASE("a list says how many it leaves out") {
  Worked house;
  auto status = house.shown();
  for (int i = 0; i < 120; ++i) status.gone.push_back("old-" + std::to_string(i));
  const auto today = house.today(status);
  CHECK(today.at("do").as_array().size() == 100);
  CHECK(today.at("more").at("do") == 20);
}

TEST_CASE("the day's work is made once a moment, and viewers hear of what was asked for") {
  Worked house;
  Answers answers{house.settings};
  CHECK(answers.answer(asking("/api/today")).status == 503);
  answers.learn(shared(house.shown()), false);
  CHECK(answers.answer(asking("/api/today?x=1")).status == 400);
  const auto first = answers.answer(asking("/api/today"));
  REQUIRE(first.status == 200);
  auto watered = wish("w1", RequestKind::watered, "mist");
  watered.litres = 2;
  house.ask(watered);
  CHECK(answers.answer(asking("/api/today")).tag == first.tag);
  const auto events = answers.learn(shared(house.shown()), false);
  CHECK(std::ranges::count(events, "event: asked\ndata: {}\n\n") == 1);
  const auto second = answers.answer(asking("/api/today"));
  CHECK_THAT(*second.body, Contains("\"request\":\"watered\""));
  const auto quiet = answers.learn(shared(house.shown()), false);
  CHECK(std::ranges::count(quiet, "event: asked\ndata: {}\n\n") == 0);
}

TEST_CASE("air is late when it is older than its sensors let it become") {
  Worked house;  // its sensors speak once an hour
  auto status = house.shown();
  Answers answers{house.settings};
  const auto late = [&] {
    answers.learn(shared(status), false);
    const auto answer = answers.answer(asking("/api/benches/long"));
    REQUIRE(answer.status == 200);
    return parsed(*answer.body).at("air").at("late").as_bool();
  };
  CHECK_FALSE(late());
  status.service.now += hours(2) + minutes(1);
  CHECK(late());
  status.benches[1].air_time = kNever;
  CHECK_FALSE(late());
}
