// Who may read the pages, and where they listen.
#include <catch2/catch.hpp>

#include "loading.h"
#include "settings/scalar.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;

namespace {

std::string board(std::string_view keys) { return house("board: {" + std::string(keys) + "}\n"); }

}  // namespace

TEST_CASE("The pages listen only on this machine unless access is guarded") {
  CHECK(load(house("")).settings->board.listen == "127.0.0.1:8632");
  CHECK_THAT(
      problems(board("listen: \"0.0.0.0:80\"")),
      Contains("house.yaml:8: board.listen: whoever reaches this address could read the pages"));
  CHECK(problems(board("listen: \"0.0.0.0:80\", behind_proxy: true")).empty());
  const Loaded with_token = load(board("listen: \"[::]:80\", token_file: t"));
  CHECK(with_token.problems.empty());
  REQUIRE(with_token.warnings.size() == 1);
  CHECK_THAT(with_token.warnings[0], Contains("the token travels in clear"));
  CHECK(problems(board("listen: \"\"")).empty());
}

TEST_CASE("A listening address is numeric, with a port") {
  CHECK(read_listen_address("127.0.0.1:8632")->loopback);
  CHECK(read_listen_address("127.8.0.1:0")->loopback);
  CHECK(read_listen_address("localhost:80")->address == "127.0.0.1");
  CHECK(read_listen_address("[::1]:80")->loopback);
  CHECK_FALSE(read_listen_address("[::]:80")->loopback);
  CHECK_FALSE(read_listen_address("192.168.1.4:80")->loopback);
  for (const char* bad :
       {"", ":", "8632", "127.0.0.1", "127.0.0.1:", "127.0.0.1:65536", "127.0.0.1:-1", "::1:80",
        "[::1]", "[127.0.0.1]:80", "house:80", "127.1:80"})
    CHECK_FALSE(read_listen_address(bad));
  CHECK_THAT(problems(board("listen: everywhere")),
             Contains("an address and a port such as 127.0.0.1:8632"));
}

TEST_CASE("The address for codes is a web address") {
  CHECK(is_web_address("https://greenhouse.example"));
  CHECK(is_web_address("http://192.168.1.4:8632"));
  for (const char* bad : {"", "http://", "https:///x", "ftp://a", "http://ann@a", "http://a?b",
                          "http://a b", "https://a/board", "http://a\"b", "greenhouse.example"})
    CHECK_FALSE(is_web_address(bad));
  CHECK_THAT(problems(board("address: greenhouse")), Contains("http://host or https://host"));
}

TEST_CASE("Pages offer two units") {
  CHECK(load(board("unit: fahrenheit")).settings->board.unit == ShownUnit::fahrenheit);
  CHECK_THAT(problems(board("unit: kelvin")), Contains("one of celsius, fahrenheit"));
}

TEST_CASE("A proxy that the settings do not name, or that one can go round, is told") {
  const auto warned = [](const std::string& keys) {
    std::string all;
    for (const auto& warning : load(board(keys)).warnings) all += warning + "\n";
    return all;
  };
  CHECK_THAT(warned("address: \"https://greenhouse.example\""),
             Contains("board.address: only this machine reaches the pages, unless a proxy is"));
  for (const char* own : {"http://127.0.0.1:8632", "http://localhost:8632", "http://[::1]:8632"})
    CHECK(warned("address: \"" + std::string(own) + "\"").empty());
  const std::string proxied = "behind_proxy: true, address: \"https://greenhouse.example\"";
  CHECK(warned(proxied).empty());
  CHECK_THAT(warned(proxied + ", listen: \"0.0.0.0:8632\""),
             Contains("board.listen: who goes round the proxy reaches the pages without TLS"));
  CHECK_THAT(problems(board("trust_loopback: true, address: \"http://greenhouse.example\"")),
             Contains("board.trust_loopback: the address is another machine's way to the pages"));
  CHECK(problems(board("trust_loopback: true, address: \"http://localhost:8632\"")).empty());
}
