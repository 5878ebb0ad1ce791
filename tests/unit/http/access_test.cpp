// Who may read: host names, tokens, cookies.
#include "http/access.h"

#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>

using namespace plainwater;
using namespace plainwater::http;
using Catch::Matchers::Contains;

namespace {

constexpr const char* kToken = "tern-bank-0123456789";

class TokenFile {
 public:
  explicit TokenFile(const std::string& text) {
    std::string name = (std::filesystem::temp_directory_path() / "token-XXXXXX").string();
    ::close(::mkstemp(name.data()));
    path_ = name;
    std::ofstream(path_) << text;
  }
  ~TokenFile() { std::filesystem::remove(path_); }
  std::string path() const { return path_; }

 private:
  std::string path_;
};

Request asking(std::string target, std::string host = "127.0.0.1:8632", std::string token = "") {
  Request request = *read_target(target);
  request.host = std::move(host);
  request.token = std::move(token);
  request.peer = "127.0.0.1";
  return request;
}

std::string field(const Answer& answer, std::string_view name) {
  for (const auto& [key, value] : answer.fields)
    if (key == name) return value;
  return {};
}

/// The value of the cookie that is set for the token.
std::string cookie_of(const Access& access) {
  const std::string set = access.cookie_for(kToken).value_or("");
  const auto begin = set.find('=') + 1;
  REQUIRE(begin != 0);
  return set.substr(begin, set.find(';') - begin);
}

Access with_token(Board board = {}) {
  const TokenFile file(std::string("  ") + kToken + " \r\nsecond line\n");
  board.token_file = file.path();
  auto access = Access::of(board);
  REQUIRE(access);
  return *access;
}

}  // namespace

TEST_CASE("On loopback only host names that nobody else can own are answered") {
  const Access access = *Access::of({});
  for (const char* host : {"127.0.0.1", "127.0.0.1:8632", "localhost:9000", "LocalHost",
                           "localhost.", "[::1]:8632", "10.1.2.3", "board.localhost", ""}) {
    INFO(host);
    CHECK(access.look(asking("/", host)).way == Access::Way::pass);
  }
  for (const char* host : {"evil.example", "evil.example:8632", "127.0.0.1.evil.example",
                           "localhost.evil.example", "[", "[::1", "::1x", ":"}) {
    INFO(host);
    const auto verdict = access.look(asking("/api/now", host));
    CHECK(verdict.way == Access::Way::answer);
    CHECK(verdict.answer.status == 421);
  }
}

TEST_CASE("The settings' address is a name of ours, and behind a proxy any name is") {
  Board board;
  board.address = "https://Greenhouse.example:444";
  CHECK(Access::of(board)->look(asking("/", "greenhouse.example")).way == Access::Way::pass);
  CHECK(Access::of(board)->look(asking("/", "other.example")).answer.status == 421);
  board.behind_proxy = true;
  CHECK(Access::of(board)->look(asking("/", "other.example")).answer.status == 421);
  board.address.clear();
  CHECK(Access::of(board)->look(asking("/", "other.example")).way == Access::Way::pass);
  Board open;
  open.listen = "0.0.0.0:8632";
  CHECK(Access::of(open)->look(asking("/", "greenhouse.lan")).way == Access::Way::pass);
}

TEST_CASE("Without a token programs get 401 and people the token form") {
  const Access access = with_token();
  const auto program = access.look(asking("/api/now"));
  CHECK(program.way == Access::Way::answer);
  CHECK(program.answer.status == 401);
  CHECK_THAT(field(program.answer, "WWW-Authenticate"), Contains("Bearer"));
  const auto person = access.look(asking("/bench/long%20one"));
  CHECK(person.answer.status == 303);
  CHECK(field(person.answer, "Location") == "/enter?to=%2Fbench%2Flong%2520one");
  CHECK(field(access.look(asking("/")).answer, "Location") == "/enter");
  CHECK(access.look(asking("/files/today.js")).answer.status == 401);
  for (const char* open : {"/enter", "/enter?to=/wall", "/files/enter.css", "/files/enter.js"})
    CHECK(access.look(asking(open)).way == Access::Way::pass);
}

TEST_CASE("The token and its cookie give access, others wait") {
  const Access access = with_token();
  CHECK(access.look(asking("/api/now", "localhost", kToken)).way == Access::Way::pass);
  CHECK(access.look(asking("/", "localhost", cookie_of(access))).way == Access::Way::pass);
  CHECK_THAT(cookie_of(access), !Contains(kToken));
  for (const std::string& wrong : {std::string(kToken) + "x", std::string(kToken).substr(1),
                                   std::string("x"), cookie_of(access) + "0"}) {
    const auto verdict = access.look(asking("/api/now", "localhost", wrong));
    CHECK(verdict.way == Access::Way::late);
    CHECK(verdict.answer.status == 401);
  }
}

TEST_CASE("A cookie is set only for the right token") {
  const Access access = with_token();
  const auto set = access.cookie_for(std::string(" ") + kToken + " ");
  REQUIRE(set);
  CHECK(cookie_of(access).size() > 20);
  CHECK_THAT(*set, Contains("; HttpOnly") && Contains("; SameSite=Strict") &&
                       Contains("; Path=/;") && !Contains("Secure") && Contains("Max-Age=2592000"));
  for (const std::string& wrong : {std::string("wrong"), std::string(), cookie_of(access)})
    CHECK_FALSE(access.cookie_for(wrong));
  CHECK_FALSE(Access::of({})->cookie_for(""));
  Board board;
  board.address = "https://greenhouse.example";
  CHECK_THAT(*with_token(board).cookie_for(kToken), !Contains("; Secure"));
  board.behind_proxy = true;
  CHECK_THAT(*with_token(board).cookie_for(kToken), Contains("; Secure"));
}

TEST_CASE("After the form a reader gets to its page, and never elsewhere") {
  CHECK(page_to("/bench/long%20one") == "/bench/long%20one");
  CHECK(page_to("//evil.example") == "/evil.example");
  CHECK(page_to("https://evil.example") == "/");
  CHECK(page_to("/%5Cevil.example") == "/%5Cevil.example");
  CHECK(page_to("/%0d%0aX:%20y") == "/");
  CHECK(page_to("/api/now") == "/");
  CHECK(page_to("/enter") == "/");
  CHECK(page_to("") == "/");
}

TEST_CASE("Only who is surely at the machine is trusted without a name") {
  Board board;
  const auto role_of = [&](const Request& request) {
    return Access::of(board)->look(request).asker.role;
  };
  CHECK(role_of(asking("/")) == Role::look);
  board.trust_loopback = true;
  for (const char* host :
       {"127.0.0.1:8632", "127.1.2.3", "localhost", "[::1]:8632", "LOCALHOST."}) {
    INFO(host);
    CHECK(role_of(asking("/", host)) == Role::keeper);
  }
  for (const char* host : {"10.1.2.3", "", "[::2]", "127.0.0.1.nip.example"}) {
    INFO(host);
    CHECK(role_of(asking("/", host)) == Role::look);
  }
  Request passed_on = asking("/");
  passed_on.passed_on = true;
  CHECK(role_of(passed_on) == Role::look);
  board.behind_proxy = true;
  CHECK(role_of(asking("/")) == Role::look);
  board.behind_proxy = false;
  board.listen = "0.0.0.0:8632";
  CHECK(role_of(asking("/")) == Role::look);
  Board with_a_token;
  with_a_token.trust_loopback = true;
  CHECK(with_token(with_a_token).look(asking("/", "localhost", kToken)).asker.role == Role::look);
}

TEST_CASE("Where a proxy has TLS, nobody reads in clear beside it") {
  Board board;
  board.listen = "0.0.0.0:8632";
  board.behind_proxy = true;
  board.address = "https://greenhouse.example";
  const auto seen = [&](const std::string& host, const std::string& peer) {
    Request request = asking("/enter", host);
    request.peer = peer;
    return Access::of(board)->look(request);
  };
  for (const char* host : {"192.168.1.4:8632", "greenhouse.example:8632", "localhost", ""}) {
    INFO(host);
    const auto verdict = seen(host, "192.168.1.9");
    CHECK(verdict.answer.status == 421);
    CHECK_THAT(*verdict.answer.body, Contains("https://greenhouse.example"));
  }
  for (const char* host : {"greenhouse.example", "Greenhouse.example:443"}) {
    INFO(host);
    CHECK(seen(host, "192.168.1.9").way == Access::Way::pass);
  }
  CHECK(seen("192.168.1.4:8632", "127.0.0.1").way == Access::Way::pass);
  board.address = "https://greenhouse.example:8443";
  CHECK(seen("greenhouse.example:8443", "192.168.1.9").way == Access::Way::pass);
  CHECK(seen("greenhouse.example:8632", "192.168.1.9").answer.status == 421);
  board.address = "http://greenhouse.example";
  CHECK(seen("192.168.1.4:8632", "192.168.1.9").way == Access::Way::pass);
}

TEST_CASE("An unusable token file is an error that says what to do") {
  const auto why = [](const std::string& path) {
    const auto token = read_token(path);
    REQUIRE_FALSE(token);
    CHECK(token.error().where == path);
    return token.error().message();
  };
  CHECK_THAT(why("nowhere/token"), Contains("cannot read the file of board.token_file"));
  const TokenFile empty(""), none("\nsecond-line-0123456789\n"), brief("0123456789abcde\n"),
      spaced("0123456789 abcdef\n"), whole("0123456789abcdef");
  CHECK_THAT(why(empty.path()), Contains("is empty"));
  CHECK_THAT(why(none.path()), Contains("is empty") && Contains("openssl rand"));
  CHECK_THAT(why(brief.path()), Contains("too short"));
  CHECK_THAT(why(spaced.path()), Contains("a space"));
  CHECK(*read_token(whole.path()) == "0123456789abcdef");
}
