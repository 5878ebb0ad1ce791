// What every POST must be, whose address counts, how often, and which browser it was.
#include "http/post_rules.h"

#include <catch2/catch.hpp>

#include "door_house.h"
#include "http/browser_name.h"
#include "http/fields.h"
#include "http/rate_limit.h"
#include "http/sender.h"

using namespace plainwater;
using namespace plainwater::http;

TEST_CASE("A POST comes from a script of our own page") {
  const PostRules rules{Board()};
  const auto status = [&](const auto& change) {
    Request request = posting("/api/requests", "{}");
    change(request);
    const auto fault = rules.fault(request);
    return fault ? fault->status : 200;
  };
  CHECK(status([](Request&) {}) == 200);
  CHECK(status([](Request& r) { r.content_type = "Application/JSON; charset=utf-8"; }) == 200);
  CHECK(status([](Request& r) { r.fetch_site = "same-origin"; }) == 200);
  for (const char* type : {"", "text/plain", "application/x-www-form-urlencoded",
                           "multipart/form-data; boundary=application/json", "application/json5",
                           "text/plain, application/json"})
    CHECK(status([&](Request& r) { r.content_type = type; }) == 415);
  CHECK(status([](Request& r) { r.page_header.clear(); }) == 403);
  for (const char* site : {"cross-site", "same-site", "none", "same-origin, cross-site"})
    CHECK(status([&](Request& r) { r.fetch_site = site; }) == 403);
  for (const char* origin :
       {"", "null", "https://127.0.0.1:8632", "http://127.0.0.1", "http://127.0.0.1:9999",
        "http://localhost:8632", "http://evil.example", "http://127.0.0.1:8632.evil.example",
        "http://127.0.0.1:8632, http://evil.example", "127.0.0.1:8632", "HTTP://"}) {
    INFO(origin);
    CHECK(status([&](Request& r) { r.origin = origin; }) == 403);
  }
  CHECK(status([](Request& r) { r.host.clear(), r.origin = "http://"; }) == 403);
}

TEST_CASE("With TLS only the address of the settings is our origin") {
  Board board;
  board.behind_proxy = true;
  board.address = "https://Greenhouse.example:443/";
  const PostRules rules{board};
  const auto fits = [&](const char* origin, const char* host) {
    Request request = posting("/api/requests", "{}");
    request.origin = origin;
    request.host = host;
    return !rules.fault(request);
  };
  CHECK(fits("https://greenhouse.example", "greenhouse.example"));
  CHECK(fits("https://greenhouse.example", "127.0.0.1:8632"));  // a proxy that keeps no host
  CHECK_FALSE(fits("http://greenhouse.example", "greenhouse.example"));
  CHECK_FALSE(fits("https://evil.example", "evil.example"));
  CHECK_FALSE(fits("http://127.0.0.1:8632", "127.0.0.1:8632"));
}

TEST_CASE("Only a proxy on this machine is believed whom it forwards, and only its own word") {
  Request request = getting("/");
  request.forwarded = "198.51.100.7, 192.0.2.4";
  CHECK(sender_of(request, false) == "127.0.0.1");
  CHECK(sender_of(request, true) == "192.0.2.4");
  request.peer = "192.0.2.99";
  CHECK(sender_of(request, true) == "192.0.2.99");
  request.peer = "::1";
  for (const char* rubbish : {"", "unknown", "192.0.2.4, <script>", "192.0.2.4:80", ","}) {
    request.forwarded = rubbish;
    CHECK(sender_of(request, true) == "::1");
  }
  request.forwarded = "2001:DB8::1";
  CHECK(sender_of(request, true) == "2001:db8::1");
  CHECK(network_of("2001:db8:1:2:3:4:5:6") == network_of("2001:db8:1:2::9"));
  CHECK(network_of("2001:db8:1:3::9") != network_of("2001:db8:1:2::9"));
  CHECK(network_of("192.0.2.4") == "192.0.2.4");
}

TEST_CASE("A rate limit goes along with time, and its table is bounded") {
  RateLimit limit(3, minutes(1), 5);
  for (int i = 0; i < 3; ++i) {
    CHECK(limit.wait("a", seconds(i)) == Span(0));
    limit.count("a", seconds(i));
  }
  CHECK(limit.wait("a", seconds(10)) == seconds(50));
  CHECK(limit.wait("b", seconds(10)) == Span(0));
  CHECK(limit.wait("a", seconds(60)) == Span(0));
  limit.count("a", seconds(60));
  CHECK(limit.wait("a", seconds(60)) == seconds(1));
  limit.take_back("a");
  CHECK(limit.wait("a", seconds(60)) == Span(0));
  for (int i = 0; i < 1000; ++i) limit.count("flood" + std::to_string(i), seconds(60));
  CHECK(limit.size() <= 6);
  CHECK(limit.wait("newcomer", seconds(60)) > Span(0));  // shares with the flood
  CHECK(limit.wait("newcomer", seconds(121)) == Span(0));
}

TEST_CASE("A small body is an object of texts") {
  CHECK(text_fields(R"({"a":"b","c":""})")->at("a") == "b");
  for (const char* bad : {"", "[]", "7", R"({"a":1})", R"({"a":{"b":"c"}})", R"({"a":null})", "{",
                          "{\"a\":\"\xff\"}", R"({"a":"\u0000"})", "a=b&c=d"})
    CHECK_FALSE(text_fields(bad));
}

TEST_CASE("A browser is named in words of our own") {
  CHECK(browser_name("Mozilla/5.0 (Android 14; Mobile; rv:125.0) Gecko/125.0 Firefox/125.0") ==
        "Firefox on Android");
  CHECK(browser_name("Mozilla/5.0 (iPhone; CPU iPhone OS 17_4 like Mac OS X) AppleWebKit/605.1.15 "
                     "(KHTML, like Gecko) Version/17.4 Mobile/15E148 Safari/604.1") ==
        "Safari on iPhone");
  CHECK(browser_name("Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) "
                     "Chrome/124.0 Safari/537.36") == "Chrome on Linux");
  CHECK(browser_name("<script>alert(1)</script>\n") == "unknown");
}
