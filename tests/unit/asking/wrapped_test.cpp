// Text broken between words, for a terminal.
#include "asking/wrapped.h"

#include <catch2/catch.hpp>

using plainwater::asking::wrapped;

TEST_CASE("text is broken between words, and later lines are set in further") {
  CHECK(wrapped("weak feed while days are short", 2, 14) ==
        "  weak feed\n    while days\n    are short\n");
  CHECK(wrapped("weak feed", 2, 11) == "  weak feed\n");
  CHECK(wrapped("weak feed", 0, 8) == "weak\n  feed\n");
}

TEST_CASE("characters count, not their bytes") {
  CHECK(wrapped("9 \u00b0C \u00b0C", 0, 7) == "9 \u00b0C \u00b0C\n");
  CHECK(wrapped("9 \u00b0C \u00b0C", 0, 6) == "9 \u00b0C\n  \u00b0C\n");
}

TEST_CASE("a long word stands alone, and nothing gives no line") {
  CHECK(wrapped("a nightingale b", 0, 5) == "a\n  nightingale\n  b\n");
  CHECK(wrapped("", 2, 10).empty());
  CHECK(wrapped("  ", 2, 10).empty());
}
