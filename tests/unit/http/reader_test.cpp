// Parsing requests from bytes: whole, in parts, in a row, too long, wrong.
#include <catch2/catch.hpp>

#include "damage.h"
#include "http/request_reader.h"

using namespace plainwater::http;

namespace {

const std::string kGet =
    "GET /season?from=2026-09-01 HTTP/1.1\r\nHost: localhost:8632\r\nAccept-Encoding: "
    "gzip\r\nIf-None-Match: \"a\"\r\nCookie: plainwater=abc\r\n\r\n";
const std::string kPost =
    "POST /enter HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: "
    "chunked\r\n\r\n6\r\ntoken=\r\n3;x=y\r\nabc\r\n0\r\n\r\n";

RequestReader::Next read(const std::string& bytes, Limits limits = {}) {
  RequestReader reader(limits);
  reader.feed(bytes);
  return reader.next();
}

int refused(const std::string& bytes, Limits limits = {}) {
  const auto next = read(bytes, limits);
  const auto* refusal = std::get_if<RequestReader::Refused>(&next);
  return refusal == nullptr ? 0 : refusal->status;
}

Request whole_request(const std::string& bytes) {
  auto next = read(bytes);
  REQUIRE(std::holds_alternative<RequestReader::Whole>(next));
  return std::get<RequestReader::Whole>(next).request;
}

}  // namespace

TEST_CASE("A request is parsed into its parts") {
  const Request get = whole_request(kGet);
  CHECK(get.method == Method::get);
  CHECK(get.path == std::vector<std::string>{"season"});
  CHECK(get.asked("from") == "2026-09-01");
  CHECK(get.host == "localhost:8632");
  CHECK(get.gzip);
  CHECK(get.if_none_match == "\"a\"");
  CHECK(get.token == "abc");
  CHECK(whole_request(kPost).body == "token=abc");
  CHECK(whole_request(kPost).method == Method::post);
  CHECK(whole_request("HEAD / HTTP/1.1\r\nHost: a\r\nAuthorization: bEaReR  xyz\r\nCookie: "
                      "plainwater=abc\r\n\r\n")
            .token == "xyz");
  CHECK(whole_request("OPTIONS * HTTP/1.1\r\nHost: a\r\n\r\n").method == Method::other);
  CHECK(whole_request("GET http://b.example:80/x HTTP/1.1\r\nHost: a\r\n\r\n").host ==
        "b.example:80");
  CHECK(whole_request("GET http://b.example HTTP/1.1\r\nHost: a\r\n\r\n").path.empty());
  CHECK(whole_request("\r\n\r\nGET / HTTP/1.0\r\n\r\n").host.empty());
  CHECK(whole_request(
            "GET / HTTP/1.1\r\nHost: a\r\nIf-None-Match: \"a\"\r\nIf-None-Match: \"b\"\r\n\r\n")
            .if_none_match == "\"a\", \"b\"");
}

TEST_CASE("Fed byte by byte it is the same request") {
  for (const auto& bytes : {kGet, kPost}) {
    RequestReader reader{Limits{}};
    for (std::size_t i = 0; i < bytes.size(); ++i) {
      CHECK(reader.begun() == (i > 0));
      reader.feed(bytes.substr(i, 1));
      CHECK(std::holds_alternative<RequestReader::Whole>(reader.next()) == (i + 1 == bytes.size()));
    }
    CHECK_FALSE(reader.begun());
  }
}

TEST_CASE("Requests in a row are returned one after the other") {
  RequestReader reader{Limits{}};
  reader.feed(kGet + kPost + kGet + "\r\n" + kPost);
  for (const Method method : {Method::get, Method::post, Method::get, Method::post}) {
    const auto next = reader.next();
    REQUIRE(std::holds_alternative<RequestReader::Whole>(next));
    CHECK(std::get<RequestReader::Whole>(next).request.method == method);
  }
  CHECK(std::holds_alternative<RequestReader::More>(reader.next()));
  CHECK_FALSE(reader.begun());
}

TEST_CASE("The connection stays open when both sides want it") {
  const auto stays = [](const std::string& bytes) {
    return std::get<RequestReader::Whole>(read(bytes)).keep_alive;
  };
  CHECK(stays(kGet));
  CHECK_FALSE(stays("GET / HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n"));
  CHECK_FALSE(stays("GET / HTTP/1.0\r\nConnection: keep-alive\r\n\r\n"));
}

TEST_CASE("A request that is too long is refused as soon as that is known") {
  const std::string field = "X: " + std::string(9000, 'x'), begin = "GET / HTTP/1.1\r\nHost: a\r\n";
  CHECK(refused(begin + field) == 431);
  CHECK(refused(begin + field + "\r\n\r\n") == 431);
  CHECK(refused("GET /" + std::string(9000, 'a')) == 414);
  CHECK(refused("GET /" + std::string(kLongestTarget, 'a') + " HTTP/1.1\r\nHost: a\r\n\r\n") ==
        414);
  CHECK(refused("GET /" + std::string(kLongestTarget - 1, 'a') + " HTTP/1.1\r\nHost: a\r\n\r\n") ==
        0);
  const std::string post = "POST /enter HTTP/1.1\r\nHost: a\r\n";
  CHECK(refused(post + "Content-Length: 8193\r\n\r\n") == 413);
  CHECK(refused(post + "Content-Length: 8192\r\n\r\n" + std::string(8192, 'a')) == 0);
  CHECK(refused(post + "Content-Length: 99999999999999999999999\r\n\r\n") == 400);
  CHECK(refused(post + "Transfer-Encoding: chunked\r\n\r\n2001\r\n" + std::string(8193, 'a') +
                "\r\n0\r\n\r\n") == 413);
}

TEST_CASE("Chunk framing cannot make a body grow without limit") {
  RequestReader reader{Limits{}};
  reader.feed("POST /enter HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\n1;");
  RequestReader::Next next = reader.next();
  std::size_t fed = 0;
  for (; std::holds_alternative<RequestReader::More>(next) && fed < 1'000'000; fed += 1000) {
    reader.feed(std::string(1000, 'x'));
    next = reader.next();
  }
  REQUIRE(std::holds_alternative<RequestReader::Refused>(next));
  CHECK(fed < 80'000);
}

TEST_CASE("A request whose end is ambiguous is refused") {
  const std::string post = "POST /enter HTTP/1.1\r\nHost: a\r\n";
  CHECK(refused(post + "Content-Length: 1\r\nContent-Length: 2\r\n\r\nab") == 400);
  CHECK(refused(post + "Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n") == 400);
  CHECK(refused(post + "Transfer-Encoding: chunked\r\nContent-Length: 5\r\n\r\n0\r\n\r\n") == 400);
  CHECK(refused(post + "Transfer-Encoding: gzip\r\n\r\n0\r\n\r\n") == 400);
  CHECK(refused(post + "Transfer-Encoding: chunked, gzip\r\n\r\n0\r\n\r\n") == 400);
  CHECK(refused(post + "Content-Length: -1\r\n\r\n") == 400);
}

TEST_CASE("Bytes that are not an HTTP/1.1 request are refused") {
  CHECK(refused("GET / HTTP/1.1\r\n\r\n") == 400);  // no host
  CHECK(refused("GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n") == 400);
  CHECK(refused("GET a HTTP/1.1\r\nHost: a\r\n\r\n") == 400);
  CHECK(refused("GET /%zz HTTP/1.1\r\nHost: a\r\n\r\n") == 400);
  CHECK(refused("GET / HTTP/1.1\r\nHost : a\r\n\r\n") == 400);
  CHECK(refused("PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n") != 0);
  CHECK(refused("\x16\x03\x01\x02\x01\r\n\r\n") == 400);
  CHECK(
      refused(
          "POST /enter HTTP/1.1\r\nHost: a\r\nExpect: 100-continue\r\nContent-Length: 0\r\n\r\n") ==
      417);
}

TEST_CASE("Damaged requests are refused, awaited or read, and nothing else") {
  const auto look = [](const std::string& bytes) {
    RequestReader reader{Limits{}};
    reader.feed(bytes);
    for (int i = 0; i < 3; ++i) {
      const auto next = reader.next();
      if (const auto* refusal = std::get_if<RequestReader::Refused>(&next)) {
        CHECK(refusal->status >= 400);
        CHECK_FALSE(refusal->detail.empty());
      }
      if (!std::holds_alternative<RequestReader::Whole>(next)) return;
    }
    FAIL("more requests than were sent");
  };
  for (const auto& bytes : {kGet, kPost}) {
    plainwater::for_every_prefix(bytes, [](const std::string& part) {
      CHECK(std::holds_alternative<RequestReader::More>(read(part)));
    });
    plainwater::for_every_damage(bytes, look);
  }
}

TEST_CASE("It is seen that a proxy sent a request") {
  CHECK_FALSE(whole_request("GET / HTTP/1.1\r\nHost: a\r\nAccept: x\r\n\r\n").passed_on);
  CHECK(whole_request("GET / HTTP/1.0\r\nHost: a\r\n\r\n").passed_on);
  for (const char* field :
       {"X-Forwarded-For: 192.0.2.7", "x-forwarded-host: b", "X-Forwarded-Proto: https",
        "X-Real-IP: 192.0.2.7", "Forwarded: for=192.0.2.7", "Via: 1.1 b", "X-Forwarded-For:"}) {
    INFO(field);
    CHECK(
        whole_request("GET / HTTP/1.1\r\nHost: a\r\n" + std::string(field) + "\r\n\r\n").passed_on);
  }
}
