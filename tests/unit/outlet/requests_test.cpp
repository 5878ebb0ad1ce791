#include "outlet/requests.h"

#include <boost/json.hpp>
#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::outlet;
using feeding::Request;
using feeding::RequestKind;

namespace {

Request good_request(const std::string& json) {
  const auto parsed = parse_request(json);
  if (const auto* fault = std::get_if<RequestFault>(&parsed))
    FAIL(fault->reply.problem << ": " << fault->reply.text());
  return std::get<Request>(parsed);
}

RequestFault bad_request(const std::string& json) {
  const auto parsed = parse_request(json);
  INFO(json);
  REQUIRE(std::holds_alternative<RequestFault>(parsed));
  return std::get<RequestFault>(parsed);
}

}  // namespace

TEST_CASE("a hold with everything") {
  const auto request = good_request(
      R"({"id":"7","who":"Ada","request":"hold","bench":"mist","from":"2026-10-12T00:00:00+01:00",)"
      R"("until":"2026-11-12T00:00:00Z","note":"repotted"})");
  CHECK(request.id == "7");
  CHECK(request.who == "Ada");
  CHECK(request.kind == RequestKind::hold);
  CHECK(request.bench == "mist");
  CHECK(request.from == parse_rfc3339("2026-10-11T23:00:00Z").value());
  CHECK(request.until == parse_rfc3339("2026-11-12T00:00:00Z").value());
  CHECK(request.note == "repotted");
}

TEST_CASE("each kind of request survives its wire form") {
  for (
      const char* json :
      {R"({"id":"1","who":"a","request":"hold","bench":"mist"})",
       R"({"id":"1","who":"a","request":"release","bench":"mist","full":true})",
       R"({"id":"1","who":"a","request":"extend","bench":"mist","until":"2026-11-12T00:00:00Z"})",
       R"({"id":"1","who":"a","request":"exempt","bench":"mist","until":"2026-11-12T00:00:00Z"})",
       R"({"id":"1","who":"a","request":"growth-started","bench":"mist"})",
       R"({"id":"1","who":"a","request":"acknowledge","bench":"mist","note":"the cap"})",
       R"({"id":"1","who":"a","request":"acknowledge","notice":"sensor-silent/mist-a"})",
       R"({"id":"1","who":"a","request":"arm","pump":"long"})",
       R"({"id":"1","who":"a","request":"disarm","pump":"long"})",
       R"({"id":"1","who":"a","request":"watered","bench":"mist","from":"2026-11-12T00:00:00Z","litres":5.5,"strength_percent":25,"note":"can"})",
       R"({"id":"1","who":"a","request":"watered","bench":"mist","litres":0.000001})",
       R"({"id":"1","who":"a","request":"runoff","bench":"mist","from":"2026-11-12T00:00:00Z","ec":1.85})",
       R"({"id":"1","who":"a","request":"trust","pump":"long","note":"new injector"})",
       R"({"id":"1","who":"a","request":"absence","person":"tom","from":"2026-11-12T00:00:00Z","until":"2026-11-20T00:00:00Z"})",
       R"({"id":"1","who":"a","request":"back"})",
       R"({"id":"1","who":"a","request":"back","absence":"7"})",
       R"({"id":"1","who":"a","request":"disarm","pump":"long","sent":"2026-11-12T00:00:00Z","expires":"2026-11-12T00:00:10.500Z"})"})
    CHECK(to_json(good_request(json)) == json);
}

TEST_CASE("an absence says until when and who looks after the house, and names no bench") {
  const std::string begin = R"({"id":"1","who":"a","request":"absence")",
                    until = R"(,"until":"2026-11-20T00:00:00Z")", person = R"(,"person":"tom")";
  CHECK(good_request(begin + until + person + "}").person == "tom");
  CHECK(bad_request(begin + person + "}").reply.problem == "missing-field");
  CHECK(bad_request(begin + until + "}").reply.problem == "missing-field");
  CHECK(bad_request(begin + until + R"(,"person":""})").reply.problem == "bad-value");
  CHECK(bad_request(begin + until + person + R"(,"bench":"mist"})").reply.problem ==
        "unknown-field");
  CHECK(bad_request(R"({"id":"1","who":"a","request":"back","person":"tom"})").reply.problem ==
        "unknown-field");
}

TEST_CASE("a request without a person has the digest that it had before there were any") {
  auto request = good_request(R"({"id":"1","who":"a","request":"hold","bench":"mist"})");
  const auto before = feeding::digest_of(request);
  request.person = "tom";
  CHECK(feeding::digest_of(request) != before);
}

TEST_CASE("what is acknowledged is a bench's question or a notice") {
  CHECK(bad_request(R"({"id":"1","who":"a","request":"acknowledge"})").reply.problem ==
        "missing-field");
  CHECK(bad_request(
            R"({"id":"1","who":"a","request":"acknowledge","bench":"mist","notice":"chill/mist"})")
            .reply.problem == "bad-value");
  CHECK(bad_request(
            R"({"id":"1","who":"a","request":"release","bench":"mist","notice":"chill/mist"})")
            .reply.problem == "unknown-field");
}

TEST_CASE("a misspelt field is refused by its name and does not become an open end") {
  const auto fault = bad_request(
      R"({"id":"7","who":"a","request":"hold","bench":"mist","untill":"2026-11-12T00:00:00Z"})");
  CHECK(fault.id == "7");
  CHECK(fault.reply.problem == "unknown-field");
  CHECK(fault.reply.text().find("untill") != std::string::npos);
}

TEST_CASE("fields of another kind of request are refused") {
  CHECK(bad_request(R"({"id":"7","who":"a","request":"arm","pump":"long","bench":"mist"})")
            .reply.problem == "unknown-field");
  CHECK(bad_request(R"({"id":"7","who":"a","request":"hold","bench":"mist","full":true})")
            .reply.problem == "unknown-field");
  CHECK(
      bad_request(
          R"({"id":"7","who":"a","request":"release","bench":"mist","until":"2026-11-12T00:00:00Z"})")
          .reply.problem == "unknown-field");
}

TEST_CASE("what is missing is named") {
  for (const auto& [json, field] :
       {std::pair(R"({"who":"a","request":"hold","bench":"mist"})", "id"),
        std::pair(R"({"id":"7","request":"hold","bench":"mist"})", "who"),
        std::pair(R"({"id":"7","who":"a","bench":"mist"})", "request"),
        std::pair(R"({"id":"7","who":"a","request":"hold"})", "bench"),
        std::pair(R"({"id":"7","who":"a","request":"arm"})", "pump"),
        std::pair(R"({"id":"7","who":"a","request":"extend","bench":"mist"})", "until")}) {
    const auto fault = bad_request(json);
    CHECK(fault.reply.problem == "missing-field");
    CHECK(fault.reply.text().find(field) != std::string::npos);
  }
}

TEST_CASE("values of the wrong kind are refused") {
  CHECK(bad_request(R"({"id":7,"who":"a","request":"hold","bench":"mist"})").reply.problem ==
        "bad-value");
  CHECK(bad_request(R"({"id":"","who":"a","request":"hold","bench":"mist"})").reply.problem ==
        "bad-value");
  CHECK(bad_request(R"({"id":"7","who":"a","request":"hold","bench":"mist","until":"in May"})")
            .reply.problem == "bad-value");
  CHECK(bad_request(R"({"id":"7","who":"a","request":"release","bench":"mist","full":"yes"})")
            .reply.problem == "bad-value");
  CHECK(bad_request(R"({"id":"7","who":"a","request":"hold","bench":"mist","note":")" +
                    std::string(501, 'x') + "\"}")
            .reply.problem == "bad-value");
  CHECK(bad_request(R"({"id":"7","who":"a","request":"water-the-lawn","bench":"mist"})")
            .reply.problem == "unknown-request");
}

TEST_CASE("what was given by hand is a number in its range, rounded to a millionth") {
  const auto watered = [](const std::string& fields) {
    return R"({"id":"7","who":"a","request":"watered","bench":"mist",)" + fields + "}";
  };
  CHECK(good_request(watered(R"("litres":12)")).litres == 12);
  CHECK(good_request(watered(R"("litres":0.12345649)")).litres == 0.123456);
  CHECK_FALSE(good_request(watered(R"("litres":12)")).strength_percent);
  CHECK(good_request(watered(R"("litres":100000,"strength_percent":100)")).strength_percent == 100);
  CHECK(good_request(watered(R"("litres":1,"strength_percent":0)")).strength_percent == 0);
  for (const char* litres : {"0", "-1", "100001", "1e-7", "1e400", "-1e400", "1e308", "\"5\"",
                             "null", "true", "[]", "18446744073709551615"}) {
    const auto fault = bad_request(watered("\"litres\":" + std::string(litres)));
    CHECK(fault.reply.problem == "bad-value");
    CHECK(fault.reply.text() == "litres must be a number, more than 0, at most 100000");
  }
  CHECK(bad_request(watered(R"("litres":1,"strength_percent":101)")).reply.text() ==
        "strength_percent must be a number, 0 to 100");
  CHECK(bad_request(watered(R"("strength_percent":10)")).reply.problem == "missing-field");
  CHECK(bad_request(watered(R"("litres":1,"ec":1)")).reply.problem == "unknown-field");
  CHECK(bad_request(watered(R"("litres":1,"pump":"long")")).reply.problem == "unknown-field");
  CHECK(good_request(R"({"id":"7","who":"a","request":"runoff","bench":"mist","ec":0})").ec == 0);
  CHECK(bad_request(R"({"id":"7","who":"a","request":"runoff","bench":"mist","ec":20.5})")
            .reply.problem == "bad-value");
  CHECK(bad_request(R"({"id":"7","who":"a","request":"runoff","bench":"mist"})").reply.problem ==
        "missing-field");
  CHECK(bad_request(R"({"id":"7","who":"a","request":"trust"})").reply.problem == "missing-field");
  CHECK(bad_request(R"({"id":"7","who":"a","request":"trust","pump":"long","bench":"mist"})")
            .reply.problem == "unknown-field");
  CHECK(bad_request(R"({"id":"7","who":"a","request":"hold","bench":"mist","litres":1})")
            .reply.problem == "unknown-field");
}

TEST_CASE("times of a request are times, in their order") {
  const std::string hold = R"({"id":"7","who":"a","request":"hold","bench":"mist",)";
  CHECK(bad_request(hold + R"("sent":"today"})").reply.problem == "bad-value");
  CHECK(bad_request(hold + R"("expires":1})").reply.problem == "bad-value");
  CHECK(bad_request(hold + R"("sent":"2026-11-12T00:00:01Z","expires":"2026-11-12T00:00:00Z"})")
            .reply.text() == "expires is before sent");
  good_request(hold + R"("sent":"2026-11-12T00:00:00Z","expires":"2026-11-12T00:00:00Z"})");
}

TEST_CASE("what was journaled before is read as it was taken, whatever is refused since") {
  const std::string before = R"({"id":")" + std::string(500, 'i') +
                             R"(","who":"A\nB","request":"hold","bench":"mist","note":"1\n2"})";
  CHECK(bad_request(before).reply.problem == "bad-value");
  const auto read = parse_request(before, Source::record);
  REQUIRE(std::holds_alternative<Request>(read));
  CHECK(to_json(std::get<Request>(read)) == before);
}

TEST_CASE("what is no request gets an answer") {
  for (const char* text : {"", "{", "[]", "null", "\"hold\"", "\xff\xfe"})
    CHECK(bad_request(text).reply.problem == "not-json");
  CHECK(bad_request(std::string(5000, '{')).reply.problem == "not-json");
  CHECK(bad_request(std::string(kLargestRequest + 1, ' ')).reply.problem == "too-long");
}

TEST_CASE("a refusal is JSON, whatever it quotes") {
  std::string name(59, 'x');
  name += "\u00fc";  // its second byte is the 61st
  for (const std::string& field :
       {"\"" + name + "\":1", R"("until":")" + std::string(39, '2') + "\u20ac\""}) {
    const auto fault =
        bad_request(R"({"id":"7","who":"a","request":"hold","bench":"mist",)" + field + "}");
    boost::system::error_code broken;
    boost::json::parse(reply_json(fault.id, fault.reply), broken);
    INFO(fault.reply.text());
    CHECK_FALSE(broken);
  }
}

TEST_CASE("no request is taken whose times could not be read back from the journal") {
  const std::string last =
      R"({"id":"7","who":"a","request":"hold","bench":"mist","until":"9999-12-31T23:59:59Z"})";
  CHECK(to_json(good_request(last)) == last);
  CHECK(
      bad_request(
          R"({"id":"7","who":"a","request":"hold","bench":"mist","until":"9999-12-31T23:59:60Z"})")
          .reply.problem == "bad-value");
  CHECK(
      bad_request(
          R"({"id":"7","who":"a","request":"hold","bench":"mist","from":"0001-01-01T00:00:00+01:00"})")
          .reply.problem == "bad-value");
}

TEST_CASE("every beginning of a good request is refused") {
  const std::string whole =
      R"({"id":"7","who":"Ada","request":"hold","bench":"mist","until":"2026-11-12T00:00:00Z"})";
  for (std::size_t length = 0; length < whole.size(); ++length)
    bad_request(whole.substr(0, length));
  good_request(whole);
  const std::string given =
      R"({"id":"7","who":"Ada","request":"watered","bench":"mist","litres":5.25,"strength_percent":25})";
  for (std::size_t length = 0; length < given.size(); ++length)
    bad_request(given.substr(0, length));
  good_request(given);
}

TEST_CASE("a reply, to the byte") {
  CHECK(reply_json("7", {false, "unknown-bench", words::as_it_is("there is no bench \"x\"")}) ==
        R"({"id":"7","done":false,"problem":"unknown-bench","text":"there is no bench \"x\""})");
}

TEST_CASE("an id that is there but empty is refused, not taken for none") {
  const std::string begin = R"({"id":"1","who":"a","bench":"mist","request":)";
  CHECK(bad_request(begin + R"("release","hold":""})").reply.problem == "bad-value");
  CHECK(bad_request(begin + R"("hold","instead":""})").reply.problem == "bad-value");
  CHECK(bad_request(R"({"id":"1","who":"a","request":"back","absence":""})").reply.problem ==
        "bad-value");
  CHECK(good_request(begin + R"("release"})").hold_id.empty());
}

TEST_CASE("a note of spaces says nothing") {
  const std::string begin = R"({"id":"1","who":"a","request":"note","note":)";
  CHECK(bad_request(begin + R"("   "})").reply.problem == "bad-value");
  CHECK(bad_request(begin + R"(" \n\t "})").reply.problem == "bad-value");
  CHECK(good_request(begin + R"(" potted on "})").note == " potted on ");
}
