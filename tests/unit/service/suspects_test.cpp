#include "service/suspects.h"

#include <catch2/catch.hpp>

using namespace plainwater::service;

TEST_CASE("one that is lost alone three times in a row, once it is suspect, is convicted") {
  Suspects suspects;
  CHECK(suspects.lost({"a", "b"}, true).empty());
  CHECK(suspects.is_suspect("a"));
  CHECK(suspects.lost({"a"}, true).empty());
  CHECK(suspects.lost({"a"}, true).empty());
  CHECK(suspects.lost({"a"}, true) == "a");
  CHECK_FALSE(suspects.is_suspect("a"));
  CHECK(suspects.is_suspect("b"));
}

TEST_CASE("what was not alone, or on a connection that never worked, does not count") {
  Suspects suspects;
  for (int i = 0; i < 100; ++i) {
    CHECK(suspects.lost({"a", "b"}, true).empty());
    CHECK(suspects.lost({"a"}, false).empty());
    CHECK(suspects.lost({"a", ""}, true).empty());
  }
}

TEST_CASE("an answer clears") {
  Suspects suspects;
  suspects.lost({"a"}, true);
  suspects.lost({"a"}, true);
  suspects.lost({"a"}, true);
  suspects.clear("a");
  CHECK_FALSE(suspects.is_suspect("a"));
  CHECK(suspects.lost({"a"}, true).empty());
  CHECK(suspects.lost({"a"}, true).empty());
}
