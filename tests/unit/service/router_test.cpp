#include "service/router.h"

#include <catch2/catch.hpp>

#include "settings/load.h"

using namespace plainwater;
using namespace plainwater::service;

namespace {

const Instant kNow = from_seconds(1'790'000'000);
constexpr const char* kBase = "plainwater/testing/";

std::shared_ptr<const Settings> settings(const std::string& more = "") {
  const auto loaded = load_settings_text(R"(
site: {name: testing, latitude: 52.2, longitude: -2.1, time_zone: Europe/London}
sensors:
  long-air: {topic: air/long, form: json, temperature: /t, humidity: /rh, time: /time}
  cold-air: {topic: air/cold, form: number, quantity: temperature}
benches:
  long: {group: intermediate, sensors: [long-air]}
  cold-end: {group: cool, sensors: [cold-air]}
pumps:
  long: {benches: [long]}
)" + more,
                                         "router.yaml");
  for (const auto& problem : loaded.problems) FAIL(message(problem, "router.yaml"));
  return loaded.settings;
}

struct Routing {
  Router router;
  std::vector<LogLine> log;
  ArrivalTimes times{kNow, kNow};

  explicit Routing(const std::string& more = "") : router(settings(more)) {}

  Routed route(const std::string& topic, const std::string& payload, bool after_fence = true,
               bool retained = false, bool duplicate = false) {
    broker::Message message;
    message.topic = topic;
    message.payload = payload;
    message.after_fence = after_fence;
    message.retained = retained;
    message.duplicate = duplicate;
    return router.route(message, times, log);
  }
  Measurements measured(const std::string& topic, const std::string& payload,
                        bool after_fence = true, bool retained = false) {
    auto routed = route(topic, payload, after_fence, retained);
    REQUIRE(std::holds_alternative<Measurements>(routed));
    return std::get<Measurements>(routed);
  }
  std::uint64_t refused(intake::Refusal reason) const { return router.refusals().total(reason); }
  std::uint64_t refused_report(const std::string& problem) const {
    const auto found = router.refused_reports().find(problem);
    return found == router.refused_reports().end() ? 0 : found->second;
  }
};

std::string air(Instant time) {
  return R"({"t":18.5,"rh":71,"time":")" + format_rfc3339(time) + R"("})";
}

}  // namespace

TEST_CASE("a message of a sensor becomes its readings, and a witness when its time is live") {
  Routing routing;
  const auto live = routing.measured("air/long", air(kNow - minutes(1)));
  REQUIRE(live.readings.size() == 2);
  CHECK(live.readings[0].time == kNow - minutes(1));
  CHECK(live.readings[0].value == 18500);
  CHECK(live.witnesses.size() == 2);
  CHECK(routing.measured("air/long", air(kNow - hours(9)), false).witnesses.empty());
  CHECK(routing.measured("air/long", air(kNow - hours(9)), true, true).witnesses.empty());
  CHECK(routing.log.empty());
}

TEST_CASE("what has no time of its own counts from its arrival, and only live") {
  Routing routing;
  CHECK(routing.measured("air/cold", "12.5").readings.at(0).time == kNow);
  CHECK(routing.measured("air/cold", "12.5", false).readings.empty());
  CHECK(routing.measured("air/cold", "12.5", true, true).readings.empty());
  CHECK(routing.refused(intake::Refusal::untimed_before_fence) == 1);
  CHECK(routing.refused(intake::Refusal::untimed_retained) == 1);
}

TEST_CASE("what cannot be used is counted each time and told once") {
  Routing routing;
  for (int i = 0; i < 3; ++i) CHECK(routing.measured("air/nobody", "1").empty());
  for (int i = 0; i < 3; ++i) CHECK(routing.measured("air/long", "{").empty());
  CHECK(routing.refused(intake::Refusal::unmapped_topic) == 3);
  CHECK(routing.refused(intake::Refusal::not_json) == 3);
  REQUIRE(routing.log.size() == 2);
  CHECK(routing.log[0].text.starts_with("air/nobody: not used (unmapped-topic): \"1\"; "));
}

TEST_CASE("the line about a payload that cannot be read shows its beginning, if it is text") {
  Routing routing;
  const std::string forty(40, '7');
  routing.measured("air/long", forty + "8");
  routing.measured("air/cold", "\xff\xfe\x01");
  REQUIRE(routing.log.size() == 2);
  CHECK_THAT(routing.log[0].text, Catch::Matchers::Contains("): \"" + forty + "\"; "));
  CHECK_THAT(routing.log[1].text, Catch::Matchers::Contains("): 3 bytes that are no text; "));
}

TEST_CASE("a reading from the future is passed on, for the journal, and counted") {
  Routing routing;
  CHECK(routing.measured("air/long", air(kNow + hours(1))).readings.size() == 2);
  CHECK(routing.refused(intake::Refusal::future) == 2);
}

TEST_CASE("air that cannot be is counted and told at once, and passed on for the journal") {
  Routing routing;
  const auto hot = routing.measured("air/cold", "300");
  REQUIRE(hot.readings.size() == 1);
  CHECK(hot.readings[0].value == 300'000);
  CHECK(routing.refused(intake::Refusal::out_of_range) == 1);
  REQUIRE(routing.log.size() == 1);
  CHECK(routing.log[0].text.starts_with(
      "air/cold: not used (out-of-range): \"300\"; no air here is like"));
  routing.measured("air/cold", "-127");
  CHECK(routing.refused(intake::Refusal::out_of_range) == 2);
  CHECK(routing.log.size() == 1);
  const auto wet = routing.measured("air/long", R"({"t":18,"rh":171})");
  REQUIRE(wet.readings.size() == 2);
  CHECK(wet.readings[1].value == 171'000);
  CHECK(routing.refused(intake::Refusal::out_of_range) == 3);
  CHECK(routing.log.size() == 2);
  Routing arctic("sensor_watch: {lowest: -70}\n");
  arctic.measured("air/cold", "-62");
  CHECK(arctic.refused(intake::Refusal::out_of_range) == 0);
  routing.measured("air/cold", "-62");
  CHECK(routing.refused(intake::Refusal::out_of_range) == 4);
}

TEST_CASE("what a humidity sensor's tolerance explains is dry or saturated air") {
  Routing routing;
  const auto humidity = [&](const std::string& percent) {
    return routing.measured("air/long", R"({"rh":)" + percent + "}").readings.at(0).value;
  };
  CHECK(humidity("100.0") == 100'000);
  CHECK(humidity("103.2") == 100'000);
  CHECK(humidity("105") == 100'000);
  CHECK(humidity("-1.5") == 0);
  CHECK(humidity("99.9") == 99'900);
  CHECK(routing.refused(intake::Refusal::out_of_range) == 0);
  CHECK(humidity("105.1") == 105'100);
  CHECK(humidity("-5.1") == -5'100);
  CHECK(routing.refused(intake::Refusal::out_of_range) == 2);
}

TEST_CASE("with the time from the readings one wrong time does not drag the house along") {
  Routing routing("clock: {time: readings}\nstore: {durability: process}\n");
  CHECK(routing.measured("air/long", air(kNow + 59 * kDay)).readings.size() == 2);
  CHECK(routing.measured("air/long", air(kNow + 61 * kDay)).readings.empty());
  CHECK(routing.measured("air/cold", "12").readings.empty());
  CHECK(routing.refused(intake::Refusal::future) == 2);
}

TEST_CASE("a pump's report gets its pump, its bench and a time that can be") {
  Routing routing;
  const std::string dosed = std::string(kBase) + "benches/long/dosed";
  const auto report = routing.measured(dosed, R"({"litres":2})").reports.at(0);
  CHECK(report.pump == "long");
  CHECK(report.bench == "long");
  CHECK(report.source == "benches/long");
  CHECK(report.time == kNow);
  // Its clock is ahead: the report counts as of its arrival, and that is told.
  const auto ahead = R"({"litres":2,"time":")" + format_rfc3339(kNow + hours(2)) + R"("})";
  CHECK(routing.measured(dosed, ahead).reports.at(0).time == kNow);
  CHECK(routing.router.corrected_reports() == 1);
  CHECK(routing.router.refused_reports().empty());  // it is used
  CHECK(std::holds_alternative<Nothing>(routing.route(dosed, R"({"litres":-2})")));
  CHECK(std::holds_alternative<Nothing>(routing.route(dosed, R"({"litres":2,"pump":"mist"})")));
  CHECK(routing.refused_report("another-pump") == 1);
  const std::string by_hand = std::string(kBase) + "benches/cold-end/dosed";
  CHECK(std::holds_alternative<Nothing>(routing.route(by_hand, R"({"litres":2})")));
  CHECK(routing.refused_report("no-pump") == 1);
}

TEST_CASE("a request is understood, answered with a fault, or not obeyed when it is retained") {
  Routing routing;
  const std::string requests = std::string(kBase) + "requests";
  const std::string hold = R"({"id":"1","who":"Ines","request":"hold","bench":"long"})";
  const auto asked = routing.route(requests, hold);
  REQUIRE(std::holds_alternative<feeding::Request>(asked));
  CHECK(std::get<feeding::Request>(asked).bench == "long");
  const auto bad = routing.route(requests, R"({"id":"2","who":"Ines","request":"dance"})");
  REQUIRE(std::holds_alternative<BadRequest>(bad));
  CHECK(std::get<BadRequest>(bad).id == "2");
  CHECK_FALSE(std::get<BadRequest>(bad).reply.done);
  CHECK(std::holds_alternative<Nothing>(routing.route(requests, hold, true, true)));
  CHECK(routing.router.refused_requests().at("retained") == 1);
}

TEST_CASE("orders at the broker are noted, expired ones too, of our benches alone") {
  Routing routing;
  orders::Order order;
  order.content.bench = "long";
  order.issued = kNow - hours(1);
  order.valid_until = kNow;
  order.number = {1, to_seconds(order.issued)};
  order.instance = "spare";
  const auto seen = routing.route(std::string(kBase) + "benches/long/order", to_json(order));
  REQUIRE(std::holds_alternative<OrderSeen>(seen));
  CHECK(std::get<OrderSeen>(seen).bench == "long");
  CHECK(std::get<OrderSeen>(seen).stamp.instance == "spare");
  CHECK(std::holds_alternative<Nothing>(
      routing.route(std::string(kBase) + "benches/nobody/order", to_json(order))));
  routing.times.engine = kNow + seconds(1);
  // A pump remembers its number.
  CHECK(std::holds_alternative<OrderSeen>(
      routing.route(std::string(kBase) + "benches/long/order", to_json(order))));
}

TEST_CASE("refused requests of one problem are worth a line twenty times") {
  Routing routing;
  int lines = 0;
  for (int i = 0; i < 30; ++i) lines += routing.router.refused({false, "unknown-bench", {}});
  CHECK(lines == static_cast<int>(Router::kToldRequests));
  CHECK(routing.router.refused_requests().at("unknown-bench") == 30);
}
