// Every prefix of every request, report, order and journal body is refused with a reason. A damaged
// one is refused too, or reads as another valid one that survives a round trip through JSON.
#include "damage.h"

#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <set>

#include "orders/order.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"
#include "replay/fold.h"
#include "unit/house.h"

using namespace plainwater;
using namespace plainwater::orders;
using namespace plainwater::outlet;
using namespace plainwater::replay;

namespace {

const char* const kRequests[] = {
    R"({"id":"1","who":"Ada","request":"hold","bench":"mist","from":"2026-10-12T00:00:00Z","until":"2026-11-12T00:00:00Z","note":"repotted"})",
    R"({"id":"1","who":"Ada","request":"release","bench":"mist","full":true})",
    R"({"id":"1","who":"Ada","request":"extend","bench":"mist","until":"2026-11-12T00:00:00Z"})",
    R"({"id":"1","who":"Ada","request":"exempt","bench":"mist","until":"2026-11-12T00:00:00Z"})",
    R"({"id":"1","who":"Ada","request":"growth-started","bench":"mist"})",
    R"({"id":"1","who":"Ada","request":"acknowledge","bench":"mist","note":"the cap"})",
    R"({"id":"1","who":"Ada","request":"arm","pump":"long"})",
    R"({"id":"1","who":"Ada","request":"disarm","pump":"long"})",
    R"({"id":"1","who":"Ada","request":"move","bench":"mist","from":"2026-10-12T00:00:00Z","to":"outdoors","hold":true})",
    R"({"id":"1","who":"Ada","request":"watered","bench":"mist","litres":5.25,"strength_percent":25})",
    R"({"id":"1","who":"Ada","request":"runoff","bench":"mist","ec":1.85})",
    R"({"id":"1","who":"Ada","request":"trust","pump":"long","note":"new injector"})"};
constexpr int kKinds = 12;

const std::string kReport =
    R"({"time":"2026-09-14T05:31:00Z","began":"2026-09-14T05:01:00Z","pump":"long","litres":5.5,"litres_total":1205.5,)"
    R"("feed_ml":27.5,"strength_percent":50,"ec":0.85,"water_c":18.25,"epoch":2,"sequence":1789363860})";

bool is_json(const std::string& text) {
  boost::system::error_code broken;
  boost::json::parse(text, broken);
  return !broken;
}

std::string order() {
  engine::BenchNow bench{};
  bench.name = "mist";
  bench.feeding = feeding::Feeding::reduced;
  bench.strength_percent = 40;
  bench.hold = feeding::HoldView{};
  return to_json(Order{content_of(bench, {}),
                       from_seconds(1'789'363'860),
                       from_seconds(1'789'457'460),
                       {2, 1'789'363'860},
                       "main"});
}

}  // namespace

TEST_CASE("every kind of request has an example here") {
  std::set<feeding::RequestKind> kinds;
  for (const char* text : kRequests)
    kinds.insert(std::get<feeding::Request>(parse_request(text)).kind);
  CHECK(kinds.size() == kKinds);
  CHECK_FALSE(std::string(feeding::name_of(static_cast<feeding::RequestKind>(kKinds - 1))).empty());
}

TEST_CASE("every prefix of every request is refused with the right reason") {
  for (const std::string whole : kRequests)
    for_every_prefix(whole, [](const std::string& text) {
      const auto parsed = parse_request(text);
      INFO(text);
      REQUIRE(std::holds_alternative<RequestFault>(parsed));
      const auto& reply = std::get<RequestFault>(parsed).reply;
      REQUIRE(reply.problem == "not-json");
      REQUIRE(reply.text().starts_with("the request is not"));
    });
}

TEST_CASE("a damaged request is refused, or is another valid one that the journal returns") {
  for (const std::string whole : kRequests)
    for_every_damage(whole, [](const std::string& text) {
      const auto parsed = parse_request(text);
      INFO(text);
      if (const auto* request = std::get_if<feeding::Request>(&parsed)) {
        const std::string body = to_json(*request);
        const auto again = parse_request(body);
        REQUIRE(std::holds_alternative<feeding::Request>(again));
        REQUIRE(to_json(std::get<feeding::Request>(again)) == body);
      } else {
        const auto& fault = std::get<RequestFault>(parsed);
        REQUIRE_FALSE(fault.reply.text().empty());
        REQUIRE(is_json(reply_json(fault.id, fault.reply)));
      }
    });
}

TEST_CASE("no prefix of a report is a report, on the wire, in the journal or in an export") {
  const auto& report = std::get<DoseMessage>(parse_dose_report(kReport)).report;
  const std::string body = to_json(report), line = dose_line(report.time, report);
  for_every_prefix(kReport, [](const std::string& text) {
    const auto parsed = parse_dose_report(text);
    INFO(text);
    REQUIRE(std::holds_alternative<FieldFault>(parsed));
    REQUIRE(std::get<FieldFault>(parsed).problem == "not-json");
  });
  for_every_prefix(body, [](const std::string& text) { REQUIRE_FALSE(read_dose_body(text)); });
  for_every_prefix(line, [](const std::string& text) {
    REQUIRE(std::holds_alternative<FieldFault>(read_dose_line(text)));
  });
}

TEST_CASE("a damaged report is refused, or is another valid one that the journal returns") {
  for_every_damage(kReport, [](const std::string& text) {
    const auto parsed = parse_dose_report(text);
    INFO(text);
    if (const auto* message = std::get_if<DoseMessage>(&parsed)) {
      const auto back = read_dose_body(to_json(message->report));
      REQUIRE(back);
      REQUIRE(*back == message->report);
    } else {
      REQUIRE_FALSE(std::get<FieldFault>(parsed).text().empty());
    }
  });
}

TEST_CASE(
    "no beginning of an order has a stamp, and damage makes no number that is not written there") {
  const std::string whole = order();
  REQUIRE(read_stamp(whole));
  for_every_prefix(whole, [](const std::string& text) { REQUIRE_FALSE(read_stamp(text)); });
  for_every_damage(whole, [](const std::string& text) {
    const auto stamp = read_stamp(text);
    INFO(text);
    if (stamp) REQUIRE(text.find(std::to_string(stamp->number.sequence)) != std::string::npos);
  });
}

TEST_CASE("no prefix of the journal's settings is accepted as settings") {
  const std::string body = to_json(SettingsRecord{4, "site:\n  name: \"x\"\n"});
  REQUIRE(read_settings_record(body));
  for_every_prefix(body,
                   [](const std::string& text) { REQUIRE_FALSE(read_settings_record(text)); });
}

TEST_CASE(
    "a journal row with any beginning of a body folds, and only the whole one does something") {
  const auto settings = testing::house();
  const Instant t = from_seconds(1'789'363'860);
  const auto holds = [&](const std::string& body) {
    engine::Engine engine(settings);
    engine::Outcome out;
    store::JournalRow row;
    row.kind = store::JournalKind::request;
    row.now = t;
    row.body = body;
    take_row(engine, *settings, row, out);
    row.kind = store::JournalKind::dose;
    take_row(engine, *settings, row, out);
    return engine.now() == t;
  };
  const std::string whole = R"({"id":"1","who":"Ada","request":"acknowledge","bench":"mist"})";
  CHECK(holds(whole));
  for_every_prefix(whole, [&](const std::string& text) { REQUIRE_FALSE(holds(text)); });
}
