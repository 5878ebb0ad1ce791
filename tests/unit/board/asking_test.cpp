// Posted bodies and their answers.
#include "board/asking.h"

#include <boost/json.hpp>

#include "http/deeds.h"
#include "shown_house.h"

using namespace plainwater;
using namespace plainwater::board;
using Catch::Matchers::Contains;
using feeding::Request;
using feeding::RequestKind;

namespace {

http::Request posted(const std::string& body, bool only_try = false) {
  http::Request request =
      http::read_target(only_try ? "/api/requests/try" : "/api/requests").value();
  request.method = http::Method::post;
  request.body = body;
  return request;
}
std::variant<Request, http::Answer> read(const std::string& body, Role role = Role::keeper) {
  return read_asked(posted(body), {"Ines", role}, {});
}
http::Answer refused(const std::variant<Request, http::Answer>& outcome) {
  REQUIRE(std::holds_alternative<http::Answer>(outcome));
  return std::get<http::Answer>(outcome);
}
std::string problem_of(const http::Answer& answer) {
  CHECK(answer.type == "application/problem+json");
  return std::string(parsed(*answer.body).at("problem").as_string());
}

constexpr const char* kHold = R"({"id":"7","request":"hold","bench":"long"})";
constexpr const char* kArm = R"({"id":"7","request":"arm","pump":"line"})";

}  // namespace

TEST_CASE("a posted body is a request of whoever stands at the door") {
  const auto outcome = read(kHold, Role::care);
  REQUIRE(std::holds_alternative<Request>(outcome));
  const auto& request = std::get<Request>(outcome);
  CHECK(request.who == "Ines");
  CHECK(request.kind == RequestKind::hold);
  CHECK(request.bench == "long");
}

TEST_CASE(
    "roles: who looks asks nothing, care all that lets no feed flow by a pump, a keeper all") {
  for (const feeding::RequestShape& shape : feeding::request_shapes()) {
    INFO(shape.name);
    const std::string body =
        std::string(R"({"id":"7","request":")") + shape.name +
        (shape.pump()    ? R"(","pump":"line")"
         : shape.bench() ? R"(","bench":"long")"
                         : "\"") +
        (shape.takes(feeding::RequestField::until) ? R"(,"until":"2026-11-12T00:00:00Z")" : "") +
        (shape.takes(feeding::RequestField::to) ? R"(,"to":"outdoors")" : "") +
        (shape.takes(feeding::RequestField::litres) ? R"(,"litres":1)" : "") +
        (shape.takes(feeding::RequestField::ec) ? R"(,"ec":1)" : "") +
        (shape.takes(feeding::RequestField::person) ? R"(,"person":"tom")" : "") +
        (shape.kind == RequestKind::withdraw ? R"(,"hold":"x")" : "") + R"(,"note":"n"})";
    CHECK(std::holds_alternative<Request>(read(body, Role::keeper)));
    CHECK(std::holds_alternative<Request>(read(body, Role::care)) == (shape.role == Role::care));
    const auto look = refused(read(body, Role::look));
    CHECK(look.status == 403);
    CHECK(problem_of(look) == "role");
  }
  CHECK(refused(read_asked(posted(kHold), {"", Role::keeper}, {})).status == 403);
  CHECK_THAT(*refused(read(kArm, Role::care)).body, Contains("Arm is for keepers"));
}

TEST_CASE("what cannot be understood is told by its field") {
  CHECK(problem_of(refused(read("{"))) == "not-json");
  CHECK(problem_of(refused(read(R"({"id":"7","request":"hold"})"))) == "missing-field");
  CHECK(problem_of(refused(read(R"({"id":"7","who":"Ada","request":"hold","bench":"long"})"))) ==
        "unknown-field");
  CHECK(refused(read("{}")).status == 400);
}

TEST_CASE("requests are only posted") {
  auto got = posted(kHold);
  got.method = http::Method::get;
  const auto answer = refused(read_asked(got, {"Ines", Role::keeper}, {}));
  CHECK(answer.status == 405);
  CHECK(answer.fields.front() == std::pair<std::string, std::string>("Allow", "POST"));
  CHECK(http::deed_of(posted("")) == http::Deed::ask);
  CHECK(only_tries(posted("", true)));
  CHECK_FALSE(only_tries(posted("")));
  CHECK_FALSE(http::deed_of(http::read_target("/api/requests/more").value()) == http::Deed::ask);
  CHECK_FALSE(http::deed_of(http::read_target("/api/now").value()) == http::Deed::ask);
}

TEST_CASE("an answer has what was done, the ledger's rows and the way back") {
  ShownHouse house;
  house.days(3, 15);
  Request hold;
  hold.id = "7";
  hold.kind = RequestKind::hold;
  hold.bench = "long";
  house.ask(hold);
  const auto rows = house.ledger();
  Request undo;
  undo.kind = RequestKind::release;
  undo.bench = "long";
  undo.hold_id = "7";
  const auto answer =
      asked_answer("7", {true, "", words::as_it_is("Done.")}, {rows.back()}, undo, {});
  CHECK(answer.cache == "no-store");
  const auto body = parsed(*answer.body);
  CHECK(body.at("done").as_bool());
  CHECK(body.at("text").as_string() == "Done.");
  CHECK(body.at("decisions").at(0).at("id").as_int64() == rows.back().id);
  CHECK(body.at("undo").at("label").as_string() == "Undo");
  CHECK(json::serialize(body.at("undo").at("request")) ==
        R"({"request":"release","bench":"long","hold":"7"})");
  // It is a request that may be posted with an id.
  auto again = body.at("undo").at("request").as_object();
  again["id"] = "8";
  CHECK(std::holds_alternative<Request>(read(json::serialize(again))));
  CHECK(parsed(*asked_answer("7", {true, "", {}}, {}, {}, {}).body).at("undo").is_null());
}

TEST_CASE("what could not be stored is said with 503") {
  const auto answer = not_stored_answer({});
  CHECK(answer.status == 503);
  CHECK(problem_of(answer) == "not-stored");
}

TEST_CASE("the kinds are those of the table, in words") {
  const auto kinds = parsed(kinds_json({})).at("kinds").as_array();
  REQUIRE(kinds.size() == feeding::request_shapes().size());
  const auto& move = kinds.at(static_cast<std::size_t>(RequestKind::move)).as_object();
  CHECK(move.at("label").as_string() == "Move");
  CHECK(move.at("of").as_string() == "bench");
  CHECK(move.at("role").as_string() == "care");
  const auto& to = move.at("fields").at(0).as_object();
  CHECK(to.at("type").as_string() == "choice");
  CHECK(to.at("choices").at(0).at("value").as_string() == "outdoors");
  const auto& watered = kinds.at(static_cast<std::size_t>(RequestKind::watered)).as_object();
  CHECK(watered.at("fields").at(0).at("unit").as_string() == "L");
  CHECK(watered.at("fields").at(0).at("above_least").as_bool());
}

TEST_CASE("announced holds are in a bench's JSON, by their ids") {
  ShownHouse house;
  house.days(3, 15);
  Request hold;
  hold.id = "later";
  hold.kind = RequestKind::hold;
  hold.bench = "long";
  hold.from = house.now + 5 * kDay;
  hold.note = "holiday";
  house.ask(hold);
  Answers answers(house.settings);
  answers.learn(shared(house.shown()), true);
  const auto bench = parsed(*answers.answer(http::read_target("/api/benches/long").value()).body);
  const auto& announced = bench.at("announced").at(0).as_object();
  CHECK(announced.at("id").as_string() == "later");
  CHECK(announced.at("who").as_string() == "Ines");
  CHECK(announced.at("note").as_string() == "holiday");
}
