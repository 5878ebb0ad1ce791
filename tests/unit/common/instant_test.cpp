// RFC 3339 times: which are read, which refused, and that formatting round-trips.
#include "common/instant.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using Catch::Matchers::Contains;

namespace {

Instant parsed(std::string_view text) {
  const auto t = parse_rfc3339(text);
  INFO(text);
  REQUIRE(t);
  return *t;
}

}  // namespace

TEST_CASE("A time in UTC is read to the second") {
  CHECK(to_seconds(parsed("1970-01-01T00:00:00Z")) == 0);
  CHECK(to_seconds(parsed("2026-09-14T05:31:00Z")) == 1'789'363'860);
  CHECK(to_seconds(parsed("2000-02-29T23:59:59Z")) == 951'868'799);
  CHECK(to_seconds(parsed("1969-12-31T23:59:59Z")) == -1);
  CHECK(to_seconds(parsed("0001-01-01T00:00:00Z")) == -62'135'596'800);
  CHECK(to_seconds(parsed("9999-12-31T23:59:59Z")) == 253'402'300'799);
}

TEST_CASE("Lower case and a space between date and time are read") {
  CHECK(parsed("2026-09-14t05:31:00z") == parsed("2026-09-14T05:31:00Z"));
  CHECK(parsed("2026-09-14 05:31:00Z") == parsed("2026-09-14T05:31:00Z"));
}

TEST_CASE("Offsets are subtracted") {
  const Instant utc = parsed("2026-09-14T05:31:00Z");
  CHECK(parsed("2026-09-14T06:31:00+01:00") == utc);
  CHECK(parsed("2026-09-13T22:01:00-07:30") == utc);
  CHECK(parsed("2026-09-14T05:31:00+00:00") == utc);
  CHECK(parsed("2026-09-14T05:31:00-00:00") == utc);
  CHECK(parsed("2026-09-15T05:30:00+23:59") == utc);
}

TEST_CASE("Fractions are cut to milliseconds") {
  const Instant whole = parsed("2026-09-14T05:31:00Z");
  CHECK(parsed("2026-09-14T05:31:00.25Z") - whole == milliseconds(250));
  CHECK(parsed("2026-09-14T05:31:00.007Z") - whole == milliseconds(7));
  CHECK(parsed("2026-09-14T05:31:00.9999999999999999999999Z") - whole == milliseconds(999));
  CHECK(parsed("2026-09-14T06:31:00.5+01:00") - whole == milliseconds(500));
}

TEST_CASE("A time that could not be written back is refused") {
  CHECK(format_rfc3339(parsed("0001-01-01T01:00:00+01:00")) == "0001-01-01T00:00:00Z");
  CHECK(format_rfc3339(parsed("9999-12-31T23:59:59.999Z")) == "9999-12-31T23:59:59.999Z");
  for (const char* text :
       {"0001-01-01T00:59:59+01:00", "9999-12-31T23:59:60Z", "9999-12-31T23:00:00-01:00"}) {
    INFO(text);
    CHECK_FALSE(parse_rfc3339(text));
    Instant t;
    CHECK_FALSE(parse_rfc3339_into(text, t));
  }
}

TEST_CASE("A leap second reads as the second after") {
  CHECK(parsed("2016-12-31T23:59:60Z") == parsed("2017-01-01T00:00:00Z"));
  CHECK_FALSE(parse_rfc3339("2016-12-31T23:59:61Z"));
}

TEST_CASE("Malformed times are refused, with the place of the fault") {
  const auto [text, place] = GENERATE(table<const char*, int>({
      {"0000-01-01T00:00:00Z", 1},  // there is no year 0
      {"-026-09-14T05:31:00Z", 1},        {"2026/09-14T05:31:00Z", 5},
      {"2026-13-14T05:31:00Z", 5},        {"2026-00-14T05:31:00Z", 5},
      {"2026-02-29T05:31:00Z", 9},  // no leap year
      {"2026-04-31T05:31:00Z", 9},        {"2026-09-14_05:31:00Z", 11},
      {"2026-09-14T24:00:00Z", 12},       {"2026-09-14T05:60:00Z", 14},
      {"2026-09-14T05:31-00Z", 17},       {"2026-09-14T05:31:00.Z", 21},
      {"2026-09-14T05:31:00", 20},  // no offset
      {"2026-09-14T05:31:00+0100", 20},   {"2026-09-14T05:31:00+24:00", 20},
      {"2026-09-14T05:31:00+01:60", 20},  {"2026-09-14T05:31:00Z ", 21},
      {"2026-09-14T05:31:00+01:00x", 26}, {"", 1},
  }));
  INFO(text);
  const auto t = parse_rfc3339(text);
  REQUIRE_FALSE(t);
  CHECK_THAT(t.error().what, Contains("character " + std::to_string(place) + ":"));
  CHECK_THAT(t.error().remedy, Contains("2026-09-14T05:31:00Z"));
  Instant untouched = from_seconds(7);
  CHECK_FALSE(parse_rfc3339_into(text, untouched));
}

TEST_CASE("Every prefix and every suffix of a time is refused") {
  const std::string whole = "2026-09-14T05:31:00.250+01:00";
  Instant out;
  REQUIRE(parse_rfc3339_into(whole, out));
  for (std::size_t n = 0; n < whole.size(); ++n) {
    INFO(n);
    CHECK_FALSE(parse_rfc3339(std::string_view(whole).substr(0, n)));
    if (n > 0) CHECK_FALSE(parse_rfc3339(std::string_view(whole).substr(n)));
  }
}

TEST_CASE(
    "A time with any one character replaced gives a value or an error that names a place in it") {
  const std::string whole = "2026-09-14T05:31:00.25Z";
  for (std::size_t i = 0; i < whole.size(); ++i) {
    for (int c = 0; c < 256; ++c) {
      std::string text = whole;
      text[i] = static_cast<char>(c);
      const auto t = parse_rfc3339(text);
      if (t) continue;
      const std::string_view found =
          std::string_view(t.error().what)
              .substr(std::string_view("not an RFC 3339 time at character ").size());
      const int place = std::stoi(std::string(found));
      INFO(i << " " << c);
      CHECK(place >= 1);
      CHECK(static_cast<std::size_t>(place) <= whole.size() + 1);
      CHECK(static_cast<std::size_t>(place) <=
            i + 1 + 3);  // the fault is where it was made, or at the field's start
    }
  }
}

TEST_CASE("Formatting round-trips") {
  CHECK(format_rfc3339(parsed("2026-09-14T05:31:00Z")) == "2026-09-14T05:31:00Z");
  CHECK(format_rfc3339(parsed("2026-09-14T05:31:00.25Z")) == "2026-09-14T05:31:00.250Z");
  CHECK(format_rfc3339(parsed("1969-12-31T23:59:59.999Z")) == "1969-12-31T23:59:59.999Z");
  CHECK(format_date(parsed("2026-09-14T23:59:59Z")) == "2026-09-14");
  for (std::int64_t s = -5'000'000'000; s < 5'000'000'000; s += 123'456'789) {
    const Instant t = from_ms(s * 1000 + s % 1000);
    CHECK(parsed(format_rfc3339(t)) == t);
  }
}

TEST_CASE("Seconds round towards the past and days to the nearest millisecond") {
  CHECK(to_seconds(from_ms(-1)) == -1);
  CHECK(to_seconds(from_ms(999)) == 0);
  CHECK(from_days(0.5) == hours(12));
  CHECK(from_days(-0.25) == -hours(6));
  CHECK(from_days(1.0 / 3) == milliseconds(28'800'000));
  CHECK(days_of(hours(36)) == 1.5);
  CHECK(hours_of(minutes(90)) == 1.5);
}
