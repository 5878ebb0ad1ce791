#include "common/quoted.h"

#include <catch2/catch.hpp>

using namespace plainwater;

TEST_CASE("a quotation is cut between characters") {
  CHECK(quoted("") == "\"\"");
  CHECK(quoted("tomorrow", 8) == "\"tomorrow\"");
  CHECK(quoted("tomorrow", 3) == "\"tom\"");
  CHECK(quoted("tomorrow", 0) == "\"\"");
  const std::string mixed = "aé€🌿z";  // characters of 1, 2, 3, 4 and 1 bytes
  for (const auto& [most, whole] : {std::pair(1u, 1u),
                                    {2u, 1u},
                                    {3u, 3u},
                                    {4u, 3u},
                                    {5u, 3u},
                                    {6u, 6u},
                                    {7u, 6u},
                                    {9u, 6u},
                                    {10u, 10u},
                                    {11u, 11u},
                                    {99u, 11u}})
    CHECK(quoted(mixed, most) == "\"" + mixed.substr(0, whole) + "\"");
  CHECK(quoted("\x80\x80\x80\x80\x80\x80", 5) == "\"?????\"");
}
