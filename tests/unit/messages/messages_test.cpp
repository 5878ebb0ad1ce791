#include "messages/messages.h"

#include <boost/json/parse.hpp>
#include <catch2/catch.hpp>
#include <sstream>

#include "messages/capture.h"
#include "settings/load.h"

using namespace plainwater;
using namespace plainwater::tool;

namespace {

const MessageCheck& loose() {
  static const MessageCheck check(nullptr);
  return check;
}

/// "valid", "unknown", or the field and its fault.
std::string verdict(const MessageCheck& check, std::string_view topic, std::string_view payload) {
  const Judged judged = check.judge(topic, payload);
  if (judged.verdict == Verdict::valid) return "valid";
  CHECK_FALSE(judged.fault.remedy.empty());
  if (judged.verdict == Verdict::unknown) return "unknown";
  return judged.fault.field + ": " + judged.fault.problem;
}
std::string verdict(std::string_view topic, std::string_view payload) {
  return verdict(loose(), topic, payload);
}

const std::string kReply = R"({"id":"1","done":true,"problem":"","text":"Done."})";

MessageCheck with_settings() {
  const auto loaded = load_settings_file(std::string(PLAINWATER_SOURCE) + "/config/sample.yaml");
  REQUIRE(loaded.settings);
  return MessageCheck(std::make_shared<const Settings>(*loaded.settings));
}

}  // namespace

TEST_CASE("every embedded schema can be read and refuses messages of other kinds") {
  for (const char* name : {"climate", "decision", "dosed", "notice", "order", "position", "reply",
                           "request", "senml", "service"}) {
    CAPTURE(name);
    CHECK_FALSE(schema_text(name).empty());
    CHECK(fault_by_schema(name, boost::json::parse("{\"x\": 1}")));
    CHECK(fault_by_schema(name, boost::json::value(nullptr)));
  }
  CHECK(schema_text("nothing").empty());
}

TEST_CASE("a fault is reported with its field") {
  CHECK(verdict("plainwater/h/replies/1", kReply) == "valid");
  CHECK(verdict("plainwater/h/replies/1", R"({"id":"1","done":true,"problem":""})") ==
        "/text: is missing");
  CHECK(verdict("plainwater/h/replies/1", R"({"id":1,"done":true,"problem":"","text":""})") ==
        "/id: is of the wrong kind");
  CHECK(
      verdict("plainwater/h/replies/1", R"({"id":"","done":true,"problem":"","text":"","x":1})") ==
      "/x: is not known here");
  CHECK(verdict("plainwater/h/requests", R"({"id":"1","who":"I","request":"hold"})") ==
        "/bench: is missing");
  CHECK(verdict("plainwater/h/requests",
                R"({"id":"1","who":"I","request":"arm","pump":"p","bench":"b"})") ==
        "/bench: does not belong to this kind of message");
  CHECK(verdict("plainwater/h/requests", R"({"id":"1","who":"I","request":"feed"})") ==
        "/request: is none of the values allowed");
  CHECK(verdict("plainwater/h/requests",
                R"({"id":"1","who":"I","request":"hold","bench":"b","until":"tomorrow"})") ==
        "/until: is not written as it must be");
  CHECK(verdict("plainwater/h/benches/b/dosed", R"({"litres":-1})") ==
        "/litres: is out of its range");
  CHECK(verdict("plainwater/h/benches/b/order", "{").find("is not JSON") != std::string::npos);
}

TEST_CASE("for a service that is offline, missing fields of the offline form are reported") {
  CHECK(verdict("plainwater/h/service/main",
                R"({"state":"offline","instance":"main","version":"0.1.0"})") == "valid");
  CHECK(verdict("plainwater/h/service/main", R"({"state":"offline","instance":"main"})") ==
        "/version: is missing");
}

TEST_CASE("the service's own readers decide about what it accepts") {
  const std::string long_request =
      R"({"id":"1","who":"I","request":"hold","bench":"b")" + std::string(17000, ' ') + "}";
  CHECK(verdict("plainwater/h/requests", long_request).find("would be refused") !=
        std::string::npos);
  CHECK(verdict("plainwater/h/benches/b/dosed", R"({"litres":1})" + std::string(17000, ' '))
            .find("would be refused") != std::string::npos);
}

TEST_CASE("plain text must have its form") {
  for (const char* good : {"0", "5", "100"})
    CHECK(verdict("plainwater/h/benches/b/strength", good) == "valid");
  for (const char* bad : {"", "101", "-1", "5.0", " 5", "05", "5 ", "five"})
    CHECK(verdict("plainwater/h/benches/b/strength", bad) != "valid");
  CHECK(verdict("plainwater/h/benches/b/placard", "PLAIN WATER ONLY\ndecides 14 Oct") == "valid");
  for (const char* bad : {"", "A\n", "A\n\nB", "1\n2\n3\n4\n5\n6\n7\n8\n9"})
    CHECK(verdict("plainwater/h/benches/b/placard", bad) != "valid");
  CHECK(verdict("plainwater/h/notices/urgent", "Look.") == "valid");
  CHECK(verdict("plainwater/h/notices/urgent", "Look.\nNow.") != "valid");
  CHECK(verdict("plainwater/h/service/main/fence", "x-1") == "valid");
}

TEST_CASE("unknown topics are reported as such") {
  CHECK(verdict("house/east/air", "21") == "unknown");
  CHECK(verdict("plainwater/h/benches/b/ordr", "{}") == ": is a topic that is not known");
  CHECK(verdict("plainwater/h/notices/later", "x") == ": is a topic that is not known");
}

TEST_CASE("settings supply benches, sensors and boards") {
  const auto check = with_settings();
  const auto loaded = load_settings_file(std::string(PLAINWATER_SOURCE) + "/config/sample.yaml");
  const Settings& settings = *loaded.settings;
  const std::string base = settings.broker.root + "/" + settings.site.name;
  CHECK(verdict(check, base + "/benches/" + settings.benches.front().name + "/strength", "5") ==
        "valid");
  CHECK(verdict(check, base + "/benches/nowhere/strength", "5").find("settings do not have") !=
        std::string::npos);
  CHECK(verdict(check, base + "/benches/" + settings.benches.front().name + "/placard",
                std::string(21, 'A'))
            .find("more than 20") != std::string::npos);
  CHECK(verdict(check, "elsewhere/x/requests", "{}") == "unknown");
  CHECK(verdict(check, "house/east/meter", R"({"litres": 3, "time": "2026-10-12T06:30:00Z"})") ==
        "valid");
  CHECK(
      verdict(check, "house/east/meter", R"({"litres": "much"})").find("pump_reports.east-meter") !=
      std::string::npos);
}

TEST_CASE("damaged messages are judged, never fatal") {
  const std::string request =
      R"({"id":"1","who":"I","request":"hold","bench":"b","until":"2026-11-10T00:00:00Z"})";
  REQUIRE(verdict("plainwater/h/requests", request) == "valid");
  std::size_t refused = 0, tried = 0;
  for (std::size_t cut = 0; cut < request.size(); ++cut) {
    CHECK(verdict("plainwater/h/requests", request.substr(0, cut)) != "valid");
    for (int bit = 0; bit < 8; ++bit) {
      std::string flipped = request;
      flipped[cut] = static_cast<char>(static_cast<unsigned char>(flipped[cut]) ^ (1U << bit));
      ++tried;
      refused += verdict("plainwater/h/requests", flipped) != "valid";
    }
  }
  // The remaining changes affect a field's text, or a digit of the time.
  CHECK(refused > tried / 2);
  CHECK(verdict("plainwater/h/replies/1", R"({"id":")" + std::string(1'000'000, '1') +
                                              R"(","done":true,"problem":"","text":""})") ==
        "/id: is too long");
  CHECK(verdict("plainwater/h/requests", std::string(100'000, '[')) != "valid");
  CHECK(verdict("plainwater/h/requests", "\xff\xfe") != "valid");
}

TEST_CASE("captures are read in both forms, placards with all their lines") {
  std::istringstream in(
      "a/b 21.5\n\n"
      "p/s/benches/b/placard PLAIN WATER ONLY\ndecides 14 Oct\n"
      "a/c\r\n"
      "{\"topic\":\"a/d\",\"payload\":\"text\"}\n"
      "{\"topic\":\"a/e\",\"payload\":{\"t\":1}}\n"
      "{\"topic\":\"a/f\"}\n{\"payload\":1}\n{broken\n");
  const auto all = read_capture(in);
  REQUIRE(all.size() == 8);
  CHECK((all[0].topic == "a/b" && all[0].payload == "21.5" && all[0].line == 1));
  CHECK((all[1].payload == "PLAIN WATER ONLY\ndecides 14 Oct" && all[1].line == 3));
  CHECK((all[2].topic == "a/c" && all[2].payload.empty() && all[2].line == 5));
  CHECK(all[3].payload == "text");
  CHECK(all[4].payload == R"({"t":1})");
  for (std::size_t i = 0; i < all.size(); ++i) CHECK(all[i].fault.empty() == (i < 5));
}
