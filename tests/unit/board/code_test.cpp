#include "board/code.h"

#include <catch2/catch.hpp>
#include <string>

#include "common/percent_coded.h"

using namespace plainwater;
using namespace plainwater::board;

TEST_CASE("what cannot stand in an address is coded") {
  CHECK(percent_coded("cold-end_2.a~") == "cold-end_2.a~");
  CHECK(percent_coded("a b/ü%?") == "a%20b%2F%C3%BC%25%3F");
}

TEST_CASE("percent codes are read back, and a broken one is none") {
  const std::string every = "a b/ü%?+~";
  CHECK(percent_decoded(percent_coded(every), true) == every);
  CHECK(percent_decoded("a+b%2Bc%2f", true) == "a b+c/");
  CHECK(percent_decoded("a+b", false) == "a+b");
  for (const char* broken : {"%", "%2", "a%2", "%zz", "%2g", "%g2"}) {
    INFO(broken);
    CHECK_FALSE(percent_decoded(broken, false));
  }
}

TEST_CASE("a code has its three finders and its quiet zone") {
  const std::string svg = code_svg("http://tern-bank.example/bench/long");
  // Version 3: 29 modules and four of white on either side.
  CHECK(svg.find("viewBox=\"0 0 37 37\"") != std::string::npos);
  const auto dark = [&](int x, int y) {
    return svg.find("M" + std::to_string(x) + "," + std::to_string(y) + "h1v1h-1z") !=
           std::string::npos;
  };
  for (const auto& [left, top] : {std::pair(4, 4), std::pair(26, 4), std::pair(4, 26)})
    for (int i = 0; i < 7; ++i) {
      CHECK((dark(left + i, top) && dark(left + i, top + 6) && dark(left, top + i) &&
             dark(left + 6, top + i)));
      if (i > 0 && i < 6) CHECK_FALSE((dark(left + i, top + 1) || dark(left + 1, top + i)));
    }
  for (int i = 0; i < 37; ++i)
    CHECK_FALSE((dark(i, 3) || dark(3, i) || dark(i, 33) || dark(33, i)));
  CHECK(code_svg(std::string(kLongestCoded, 'x')) != "");
  CHECK(code_svg(std::string(kLongestCoded + 1, 'x')).empty());
}
