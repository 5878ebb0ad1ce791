// Topics, the climate and service messages, and that each message has its schema.
#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <fstream>
#include <limits>
#include <sstream>

#include "orders/order.h"
#include "outlet/climate.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"
#include "outlet/service_state.h"
#include "outlet/topics.h"
#include "replay/fold.h"

using namespace plainwater;
using namespace plainwater::outlet;

namespace {

boost::json::object schema(const std::string& name) {
  std::ifstream file(PLAINWATER_SOURCE "/config/schemas/" + name + ".json");
  REQUIRE(file);
  std::stringstream text;
  text << file.rdbuf();
  return boost::json::parse(text.str()).as_object();
}

/// Same keys, and all required ones present: what the message says is what the schema describes.
void check_keys(const std::string& json, const boost::json::object& form) {
  const auto message = boost::json::parse(json).as_object();
  const auto& properties = form.at("properties").as_object();
  CHECK_FALSE(form.at("additionalProperties").as_bool());
  for (const auto& member : message) {
    INFO("key " << member.key());
    CHECK(properties.contains(member.key()));
  }
  for (const auto& key : form.at("required").as_array()) {
    INFO("required " << key.as_string().c_str());
    CHECK(message.contains(key.as_string()));
  }
  for (const auto& property : properties) {
    INFO("description of " << property.key());
    CHECK((property.key() == "hold" ||
           !property.value().as_object().at("description").as_string().empty()));
  }
}

Settings settings() {
  Settings settings;
  settings.site.name = "tern-bank";
  return settings;
}

}  // namespace

TEST_CASE("what is urgent goes to who looks after the house too, a reminder to them alone") {
  const Topics topics{settings()};
  const std::string all = "plainwater/tern-bank/notices/urgent",
                    toms = "plainwater/tern-bank/notices/tom/urgent";
  const auto to = [&](notices::Urgency urgency, bool in_force, bool known, bool reminds) {
    notices::Message message;
    message.urgency = urgency;
    message.reminds = reminds;
    return topics.notices(
        message, engine::AbsenceNow{
                     from_seconds(0), from_seconds(1), "tom", "Ines", in_force, known, 0, {}});
  };
  using Where = std::vector<std::string>;
  using notices::Urgency;
  CHECK(to(Urgency::urgent, true, true, false) == Where{all, toms});
  CHECK(to(Urgency::urgent, true, true, true) == Where{toms});
  CHECK(to(Urgency::urgent, false, true, false) == Where{all});
  CHECK(to(Urgency::urgent, true, false, false) == Where{all});
  CHECK(to(Urgency::soon, true, true, false) == Where{"plainwater/tern-bank/notices/soon"});
  notices::Message message;
  message.urgency = Urgency::urgent;
  CHECK(topics.notices(message, std::nullopt) == Where{all});
}

TEST_CASE("topics stand below root and site") {
  const Topics topics{settings()};
  CHECK(topics.order("mist") == "plainwater/tern-bank/benches/mist/order");
  CHECK(topics.service() == "plainwater/tern-bank/service/main");
  CHECK(topics.bench_of(topics.order("mist"), "order") == "mist");
  CHECK(topics.bench_of(topics.order("mist"), "climate").empty());
  CHECK(topics.dosed("mist") == "plainwater/tern-bank/benches/mist/dosed");
  CHECK(topics.every_dosed() == "plainwater/tern-bank/benches/+/dosed");
  CHECK(topics.bench_of(topics.dosed("mist"), "dosed") == "mist");
  CHECK(topics.bench_of("plainwater/other/benches/mist/order", "order").empty());
  CHECK(topics.bench_of("plainwater/tern-bank/benches/mist", "order").empty());
  CHECK(topics.bench_of("plainwater/tern-bank/benches/mist/order/x", "order").empty());
}

TEST_CASE("replies go below replies and nowhere else") {
  const Topics topics{settings()};
  CHECK(topics.may_reply_to(topics.reply("7")));
  for (const auto& topic :
       {std::string(), topics.order("mist"), topics.strength("mist"), topics.dosed("mist"),
        topics.service(), topics.requests(), topics.notices("urgent"), topics.reply(""),
        topics.reply("+"), std::string("phone/answers"), std::string("a/+/b"), std::string("a/#")})
    CHECK_FALSE(topics.may_reply_to(topic));
}

TEST_CASE("the climate message keeps to its schema, unknown figures are null") {
  engine::BenchNow bench{};
  bench.name = "mist";
  bench.temperature_c = 21.4;
  bench.humidity_rh = bench.night_mean_c = std::numeric_limits<double>::quiet_NaN();
  bench.air_time = from_seconds(1'789'000'000);
  bench.questions = {{"cap", words::as_it_is("Shall feeding go on?")}};
  bench.sensors = {{"mist-a", true, "", from_seconds(1'789'000'000), kNever, "", 21.4, 63},
                   {"mist-b", false, "stuck", kNever, kNever, ""}};
  bench.announced = {{from_seconds(1'789'600'000), from_seconds(1'789'700'000), "Ines", "", "a-1"}};
  bench.exempt_until = from_seconds(1'789'500'000);
  const auto json = climate_json(bench, from_seconds(1'789'000'060));
  check_keys(json, schema("climate"));
  CHECK(json.find(R"("temperature_c":21.40,"humidity_percent":null)") != std::string::npos);
  CHECK(json.find(R"({"name":"mist-b","trusted":false,"doubt":"stuck","last":null,)"
                  R"("temperature_c":null,"humidity_percent":null})") != std::string::npos);
  CHECK(json.find(R"("last":"2026-09-10T00:26:40Z","temperature_c":21.40,)"
                  R"("humidity_percent":63.0})") != std::string::npos);
  CHECK(json.find(R"("announced":[{"id":"a-1","from":"2026-09-16T23:06:40Z",)"
                  R"("until":"2026-09-18T02:53:20Z","who":"Ines","note":""}],)"
                  R"("exempt_until":"2026-09-15T19:20:00Z","cold_passes_until":null)") !=
        std::string::npos);
}

TEST_CASE("the service message keeps to its schema, online and offline") {
  const auto forms = schema("service").at("oneOf").as_array();
  status::Service state;
  state.instance = "main";
  state.version = "1.2.3";
  state.refused[static_cast<std::size_t>(intake::Refusal::not_json)] = 4;
  check_keys(online_json(state), forms.at(0).as_object());
  check_keys(offline_json("main", "1.2.3"), forms.at(1).as_object());
  CHECK(online_json(state).find(R"("absence":null)") != std::string::npos);
  state.absence = {from_seconds(0), from_seconds(86'400), "tom", "Ines", true, true, 0, {}};
  CHECK(online_json(state).find(R"("absence":{"from":"1970-01-01T00:00:00Z",)"
                                R"("until":"1970-01-02T00:00:00Z","person":"tom"})") !=
        std::string::npos);
  state.corrected_reports = 2;
  CHECK(online_json(state).find(R"("refused":{"not-json":4},"corrected":2)") != std::string::npos);
}

TEST_CASE("a heartbeat is known by its store and run; what tells neither is nobody's") {
  status::Service state;
  state.store_id = "00000000000000aa";
  state.run = "1111111111111111";
  state.history_since = from_seconds(1'790'000'000);
  const auto alive = read_alive(online_json(state));
  REQUIRE(alive);
  CHECK(alive->store_id == state.store_id);
  CHECK(alive->run == state.run);
  CHECK(alive->history_since == state.history_since);
  CHECK_FALSE(alive->aside);
  state.aside_for = "00000000000000bb";
  CHECK(read_alive(online_json(state))->aside);
  state.history_since.reset();
  CHECK_FALSE(read_alive(online_json(state))->history_since);
  state.run.clear();
  CHECK_FALSE(read_alive(online_json(state)));
  for (const std::string& text :
       {std::string(), std::string("{"), std::string("[]"), offline_json("main", "1.2.3"),
        std::string(R"({"state":"online","store_id":7,"run":"x"})")})
    CHECK_FALSE(read_alive(text));
}

TEST_CASE("orders, requests, replies and decisions keep to their schemas") {
  engine::BenchNow bench{};
  bench.name = "mist";
  bench.feeding = feeding::Feeding::plain_water;
  bench.hold = feeding::HoldView{};
  orders::Order order{
      orders::content_of(bench, {}), from_seconds(0), from_seconds(60), {1, 0}, "main"};
  check_keys(to_json(order), schema("order"));
  const auto hold = boost::json::parse(to_json(order)).at("hold").as_object();
  for (const auto& member : hold)
    CHECK(schema("order")
              .at("properties")
              .at("hold")
              .at("properties")
              .as_object()
              .contains(member.key()));

  feeding::Request request;
  request.id = "1";
  request.who = "a";
  request.bench = "mist";
  request.from = request.until = from_seconds(0);
  request.person = "tom";
  request.litres = request.strength_percent = request.ec = 1;
  check_keys(to_json(request), schema("request"));
  check_keys(reply_json("1", {true, "", words::as_it_is("done")}), schema("reply"));

  feeding::Decision decision;
  decision.hold = feeding::HoldView{};
  decision.since = from_seconds(0);
  check_keys(feeding::to_json(decision), schema("decision"));
}

TEST_CASE("a report of a pump keeps to its schema") {
  const std::string report =
      R"({"time":"2026-09-14T05:31:00Z","began":"2026-09-14T05:01:00Z","pump":"long","litres":5.5,"litres_total":1205.5,"feed_ml":27.5,)"
      R"("feed_ml_total":6000,"strength_percent":50,"ec":0.85,"ec_compensated":false,"water_c":18.25,)"
      R"("runoff_ec":1.2,"epoch":2,"sequence":3})";
  REQUIRE(std::holds_alternative<DoseMessage>(parse_dose_report(report)));
  const auto form = schema("dosed");
  check_keys(report, form);
  CHECK(boost::json::parse(report).as_object().size() == form.at("properties").as_object().size());
  for (const auto& one : form.at("anyOf").as_array()) {
    const std::string key(one.at("required").at(0).as_string());
    CHECK(std::holds_alternative<DoseMessage>(parse_dose_report("{\"" + key + "\":1}")));
  }
  for (const auto& property : form.at("properties").as_object()) {
    const auto* most = property.value().as_object().if_contains("maximum");
    if (most == nullptr) continue;
    const std::string begin = (property.key() == "litres" ? "{\"" : "{\"litres\":1,\"") +
                              std::string(property.key()) + "\":";
    const auto limit = most->to_number<std::int64_t>();
    INFO(begin << limit);
    CHECK(std::holds_alternative<DoseMessage>(
        parse_dose_report(begin + std::to_string(limit) + "}")));
    CHECK_FALSE(std::holds_alternative<DoseMessage>(
        parse_dose_report(begin + std::to_string(limit + 1) + "}")));
  }
}
