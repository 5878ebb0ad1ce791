// JSON written by hand: the same bytes every time.
#include "common/json_text.h"

#include <catch2/catch.hpp>
#include <limits>

using namespace plainwater;

TEST_CASE("Decimals are fixed") {
  CHECK(fixed(18.25, 2) == "18.25");
  CHECK(fixed(18.25, 0) == "18");
  CHECK(fixed(-3.5, 3) == "-3.500");
  CHECK(fixed(60, 1) == "60.0");
  CHECK(fixed(1e15, 0) == "1000000000000000");
  CHECK(fixed(0.000001, 6) == "0.000001");
  CHECK(fixed(std::numeric_limits<double>::max(), 9).size() ==
        319);  // 309 digits, a point, 9 places
}

TEST_CASE("Zero has no sign") {
  CHECK(fixed(-0.0, 2) == "0.00");
  CHECK(fixed(-0.004, 2) == "0.00");
  CHECK(fixed(-0.0, 0) == "0");
  CHECK(fixed(-0.005001, 2) == "-0.01");
  CHECK(fixed(-10, 0) == "-10");
}

TEST_CASE("A value that is not finite is null") {
  CHECK(fixed(std::numeric_limits<double>::quiet_NaN(), 2) == "null");
  CHECK(fixed(std::numeric_limits<double>::infinity(), 2) == "null");
  CHECK(fixed(-std::numeric_limits<double>::infinity(), 0) == "null");
}

TEST_CASE("Halves are rounded away from zero, without a negative zero") {
  CHECK(rounded(0.5, 0) == 1);
  CHECK(rounded(-0.5, 0) == -1);
  CHECK(rounded(2.0000004) == 2);
  CHECK(rounded(2.0000006) == 2.000001);
  CHECK_FALSE(std::signbit(rounded(-0.0000001)));
  CHECK(std::isnan(rounded(std::numeric_limits<double>::quiet_NaN())));
  const double once = rounded(1.23456789);
  CHECK(rounded(once) == once);
}

TEST_CASE("Text is escaped as JSON demands and UTF-8 passes") {
  CHECK(json_string("") == "\"\"");
  CHECK(json_string("a\"b\\c") == "\"a\\\"b\\\\c\"");
  CHECK(json_string("\n\r\t") == "\"\\n\\r\\t\"");
  CHECK(json_string(std::string_view("\0\x1f", 2)) == "\"\\u0000\\u001f\"");
  CHECK(json_string("\x08\x0c") == "\"\\u0008\\u000c\"");
  CHECK(json_string("18 °C / 50 %") == "\"18 °C / 50 %\"");
  CHECK(json_string("\x7f") == "\"\x7f\"");
}

TEST_CASE("An object is written key by key in the order given") {
  CHECK(JsonObject().str() == "{}");
  CHECK(JsonObject()
            .text("bench", "mist")
            .number("mean_c", 18.25, 2)
            .integer("n", -3)
            .boolean("ok", true)
            .raw("in", "{}")
            .str() == R"({"bench":"mist","mean_c":18.25,"n":-3,"ok":true,"in":{}})");
  CHECK(JsonObject()
            .number("x", std::numeric_limits<double>::quiet_NaN(), 1)
            .boolean("a\"", false)
            .str() == R"({"x":null,"a\"":false})");
}
