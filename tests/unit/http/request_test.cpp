// Targets, forms and header fields from untrusted clients.
#include "http/request.h"

#include <catch2/catch.hpp>

#include "damage.h"
#include "settings/scalar.h"

using namespace plainwater::http;
using Pairs = std::vector<std::pair<std::string, std::string>>;

TEST_CASE("A target is parsed into path and query") {
  const auto request = read_target("/bench/long%20one/?days=30&name=a+b%26c&days=2&empty&=x");
  REQUIRE(request);
  CHECK(request->path == std::vector<std::string>{"bench", "long one"});
  CHECK(request->query ==
        Pairs{{"days", "30"}, {"name", "a b&c"}, {"days", "2"}, {"empty", ""}, {"", "x"}});
  CHECK(request->asked("days") == "30");
  CHECK(request->asked("empty") == "");
  CHECK_FALSE(request->asked("hours"));
  CHECK(read_target("/")->path.empty());
  CHECK(read_target("//a///b")->path == std::vector<std::string>{"a", "b"});
  CHECK(read_target("/a+b")->path.front() == "a+b");
  CHECK(read_target("/%C3%A9/%2F")->path == std::vector<std::string>{"\xc3\xa9", "/"});
  CHECK(read_target("/a?b?c=d")->query == Pairs{{"b?c", "d"}});
}

TEST_CASE("A malformed target is refused") {
  for (const char* bad : {"", "a", "*", "http://a/", "/%", "/%4", "/%4g", "/%zz", "/%00", "/%0a",
                          "/a?b=%0D", "/\x7f", "/a\tb", "/%ff", "/%C3", "/a?%ED%A0%80", "/a#b"}) {
    INFO(bad);
    CHECK_FALSE(read_target(bad));
  }
  CHECK(read_target("/" + std::string(kLongestTarget - 1, 'a')));
  CHECK_FALSE(read_target("/" + std::string(kLongestTarget, 'a')));
}

TEST_CASE("A form may contain any UTF-8 text") {
  CHECK(*read_form("token=a%0Ab&x=") == Pairs{{"token", "a\nb"}, {"x", ""}});
  CHECK(read_form("")->empty());
  CHECK(read_form("&&")->empty());
  CHECK_FALSE(read_form("a=%f"));
  CHECK_FALSE(read_form("a=\xff"));
}

TEST_CASE("gzip is sent to readers that accept it") {
  for (const char* yes : {"gzip", "GZIP", "deflate, gzip", "gzip;q=0.5", "br;q=1.0, gzip ; q=0.001",
                          "*", "x-gzip", "identity;q=0, *"})
    CHECK(takes_gzip(yes));
  for (const char* no :
       {"", "deflate", "gzip;q=0", "gzip; q=0.000", "gzip;q=0, *", "*;q=0", "gzipped", "br"})
    CHECK_FALSE(takes_gzip(no));
}

TEST_CASE("A cookie is found by its whole name") {
  CHECK(cookie("a=1; plainwater=abc; b=2", "plainwater") == "abc");
  CHECK(cookie("plainwater=\"abc\"", "plainwater") == "abc");
  CHECK(cookie("xplainwater=no; plainwaterx=no", "plainwater").empty());
  CHECK(cookie("plainwater", "plainwater").empty());
  CHECK(cookie("", "plainwater").empty());
}

TEST_CASE("An entity tag is found among several") {
  CHECK(names_tag("\"a\"", "\"a\""));
  CHECK(names_tag("W/\"x,y\", W/\"a\"", "\"a\""));
  CHECK(names_tag(" * ", "\"a\""));
  CHECK_FALSE(names_tag("\"ab\"", "\"a\""));
  CHECK_FALSE(names_tag("\"a", "\"a\""));
  CHECK_FALSE(names_tag("*", ""));
  CHECK_FALSE(names_tag("", "\"a\""));
}

TEST_CASE("A damaged target is refused, or has a path that is valid text") {
  const std::string whole = "/bench/long%20one?days=30&x=%C3%A9";
  const auto look = [](const std::string& target) {
    const auto request = read_target(target);
    if (!request) return;
    for (const auto& part : request->path) {
      CHECK_FALSE(part.empty());
      CHECK(is_text(part));
      CHECK(part.find('\n') == std::string::npos);
    }
  };
  plainwater::for_every_prefix(whole, look);
  plainwater::for_every_damage(whole, look);
}
