// Times as people write them, and what they mean where the clocks change.
#include "plainwater/local_times.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using namespace plainwater::tool;

namespace {

/// The time in UTC, "-" where it is none; without a zone its own clock counts.
std::string clock_of(std::string_view text, CsvTimes times) {
  const auto written = read_time(text, times);
  if (!written) return "-";
  if (written->instant) return format_rfc3339(*written->instant);
  const std::string local = format_rfc3339(Instant(written->local));
  if (!written->offset_s) return local.substr(0, local.size() - 1);
  return local.substr(0, local.size() - 1) + "+" + std::to_string(*written->offset_s);
}

LocalTimes berlin() {
  auto zone = ZoneTimes::of("Europe/Berlin", Site{});
  REQUIRE(zone);
  return LocalTimes(*zone);
}

struct Resolved {
  LocalTimes::Fault fault;
  std::string time;
};
Resolved resolve(LocalTimes& times, std::string_view text, std::string_view sensor = "") {
  const auto written = read_time(text, CsvTimes::year_first);
  REQUIRE(written);
  Instant at;
  const auto fault = times.resolve(*written, sensor, 0, at);
  return {fault, fault == LocalTimes::Fault::none ? format_rfc3339(at) : ""};
}

}  // namespace

TEST_CASE("times are read in the forms that people have") {
  const auto guess = CsvTimes::guess;
  CHECK(clock_of("2025-09-20T07:30:00Z", guess) == "2025-09-20T07:30:00Z");
  CHECK(clock_of("2025-09-20 07:30", guess) == "2025-09-20T07:30:00");
  CHECK(clock_of("2025-09-20T07:30:15.25", guess) == "2025-09-20T07:30:15.250");
  CHECK(clock_of("2025/9/2 7:30", guess) == "2025-09-02T07:30:00");
  CHECK(clock_of("2025-09-20 07:30+01:00", guess) == "2025-09-20T07:30:00+3600");
  CHECK(clock_of("2025-09-20 07:30 -0230", guess) == "2025-09-20T07:30:00+-9000");
  CHECK(clock_of("1758346200", guess) == "2025-09-20T05:30:00Z");
  CHECK(clock_of("1758346200.5", guess) == "2025-09-20T05:30:00.500Z");
  CHECK(clock_of("1758346200000", guess) == "2025-09-20T05:30:00Z");
  CHECK(clock_of("86400", CsvTimes::unix) == "1970-01-02T00:00:00Z");
  CHECK(clock_of("20.09.2025 07:30", CsvTimes::day_first) == "2025-09-20T07:30:00");
  CHECK(clock_of("1.9.25 7:30:05", CsvTimes::day_first) == "2025-09-01T07:30:05");
  CHECK(clock_of("09/20/2025 7:30 AM", CsvTimes::month_first) == "2025-09-20T07:30:00");
  CHECK(clock_of("09/20/2025 12:05 am", CsvTimes::month_first) == "2025-09-20T00:05:00");
  CHECK(clock_of("09/20/2025 12:05PM", CsvTimes::month_first) == "2025-09-20T12:05:00");
}

TEST_CASE("the order of day and month is never guessed") {
  CHECK(clock_of("01/02/2025 07:30", CsvTimes::guess) == "-");
  CHECK(clock_of("20.09.2025 07:30", CsvTimes::guess) == "-");
  CHECK(clock_of("01/02/2025 07:30", CsvTimes::day_first) == "2025-02-01T07:30:00");
  CHECK(clock_of("01/02/2025 07:30", CsvTimes::month_first) == "2025-01-02T07:30:00");
  CHECK(day_pair("01/02/2025 07:30"));
  CHECK_FALSE(day_pair("2025-01-02 07:30"));
  CHECK_FALSE(day_pair("soon"));
}

TEST_CASE("what is no time is none") {
  for (const char* text :
       {"", "soon", "2025-09-20", "2025-13-01 07:30", "2025-02-30 07:30", "2025-09-20 24:00",
        "2025-09-20 07:60", "2025-09-20 7", "2025-09-20 07:30 Uhr", "2025-09.20 07:30",
        "2025-09-20 13:00 PM", "2025-09-20 00:10 AM", "2025-09-20 07:30+19:00", "45920.3125",
        "202509200730", "20250920073000"})
    CHECK(clock_of(text, CsvTimes::guess) == "-");
  CHECK(clock_of("20.09.2025 07:30", CsvTimes::month_first) == "-");
  CHECK(clock_of("2025-09-20 07:30", CsvTimes::rfc3339) == "-");
}

TEST_CASE("a local time is of its zone") {
  auto times = berlin();
  CHECK(resolve(times, "2025-01-20 07:30").time == "2025-01-20T06:30:00Z");
  CHECK(resolve(times, "2025-07-20 07:30").time == "2025-07-20T05:30:00Z");
  CHECK(resolve(times, "2025-07-20 07:30+00:00").time == "2025-07-20T07:30:00Z");
  LocalTimes nowhere{std::nullopt};
  CHECK(resolve(nowhere, "2025-07-20 07:30").fault == LocalTimes::Fault::no_zone);
  CHECK(resolve(nowhere, "2025-07-20 07:30Z").time == "2025-07-20T07:30:00Z");
  Site site;
  site.time_zone = "America/New_York";
  LocalTimes sites(*ZoneTimes::of("site", site));
  CHECK(resolve(sites, "2025-07-20 07:30").time == "2025-07-20T11:30:00Z");
  LocalTimes fixed(*ZoneTimes::of("-02:30", site));
  CHECK(resolve(fixed, "2025-07-20 07:30").time == "2025-07-20T10:00:00Z");
  CHECK_FALSE(ZoneTimes::of("Europe/Nowhere", site));
}

TEST_CASE("a local time that never occurs is refused") {
  auto times = berlin();
  CHECK(resolve(times, "2025-03-30 01:59").time == "2025-03-30T00:59:00Z");
  CHECK(resolve(times, "2025-03-30 02:00").fault == LocalTimes::Fault::never);
  CHECK(resolve(times, "2025-03-30 02:59").fault == LocalTimes::Fault::never);
  CHECK(resolve(times, "2025-03-30 03:00").time == "2025-03-30T01:00:00Z");
}

TEST_CASE("a local time that occurs twice is the earlier one, unless its sensor has passed it") {
  auto times = berlin();
  CHECK(resolve(times, "2025-10-26 01:30", "a").time == "2025-10-25T23:30:00Z");
  CHECK(resolve(times, "2025-10-26 02:00", "a").time == "2025-10-26T00:00:00Z");
  CHECK(resolve(times, "2025-10-26 02:00", "b").time == "2025-10-26T00:00:00Z");
  CHECK(resolve(times, "2025-10-26 02:30", "a").time == "2025-10-26T00:30:00Z");
  CHECK(resolve(times, "2025-10-26 02:00", "a").time == "2025-10-26T01:00:00Z");
  CHECK(resolve(times, "2025-10-26 02:30", "b").time == "2025-10-26T00:30:00Z");
  CHECK(resolve(times, "2025-10-26 02:30", "a").time == "2025-10-26T01:30:00Z");
  CHECK(resolve(times, "2025-10-26 03:00", "a").time == "2025-10-26T02:00:00Z");
  CHECK(times.twice() == 6);
  // A year later it begins with the earlier one again.
  CHECK(resolve(times, "2026-10-25 02:30", "a").time == "2026-10-25T00:30:00Z");
}

TEST_CASE("ten digits that are a date are no sure seconds") {
  CHECK(may_be_digits_of_date("2025092007"));
  CHECK(may_be_digits_of_date("2509200730"));
  CHECK_FALSE(may_be_digits_of_date("1758346200"));
  CHECK_FALSE(may_be_digits_of_date("2025092024"));
  CHECK_FALSE(may_be_digits_of_date("2025-09-20"));
}

TEST_CASE("what sensors have passed is remembered for so many of them") {
  auto times = berlin();
  for (std::size_t i = 0; i < LocalTimes::kMostRemembered; ++i)
    REQUIRE(resolve(times, "2025-10-26 02:00", std::to_string(i)).fault == LocalTimes::Fault::none);
  CHECK(resolve(times, "2025-10-26 02:00", "more").fault == LocalTimes::Fault::forgotten);
  CHECK(resolve(times, "2025-10-26 02:00", "0").time == "2025-10-26T01:00:00Z");
  CHECK(resolve(times, "2025-10-26 04:00", "more").fault == LocalTimes::Fault::none);
}
