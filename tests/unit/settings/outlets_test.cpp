// Keys of notices, display boards and metrics.
#include <catch2/catch.hpp>

#include "loading.h"
#include "settings/scalar.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;

namespace {

std::string section(std::string_view name, std::string_view keys) {
  return house(std::string(name) + ": {" + std::string(keys) + "}\n");
}

}  // namespace

TEST_CASE("A time of the day has two figures for the hour and two for the minute") {
  CHECK(read_time_of_day("00:00") == 0);
  CHECK(read_time_of_day("07:30") == 450);
  CHECK(read_time_of_day("23:59") == 1439);
  for (const char* bad :
       {"", "7:30", "24:00", "07:60", "07.30", "0730", "07:3a", "-7:30", "07:30 "})
    CHECK_FALSE(read_time_of_day(bad));
}

TEST_CASE("Quiet hours may pass midnight, and end before their last minute") {
  const auto night = read_hours_of_day("22:00-07:00");
  REQUIRE(night);
  CHECK(night->holds(22 * 60));
  CHECK(night->holds(0));
  CHECK(night->holds(6 * 60 + 59));
  CHECK_FALSE(night->holds(7 * 60));
  CHECK_FALSE(night->holds(21 * 60 + 59));
  const auto noon = read_hours_of_day("12:00-14:00");
  REQUIRE(noon);
  CHECK(noon->holds(12 * 60));
  CHECK_FALSE(noon->holds(14 * 60));
  CHECK_FALSE(noon->holds(0));
  for (const char* bad : {"22:00", "22:00-22:00", "22:00 - 07:00", "22:00-24:00", "22-7"})
    CHECK_FALSE(read_hours_of_day(bad));
  CHECK_THAT(problems(section("notices", "quiet: evenings")),
             Contains("hours of the day such as 22:00-07:00"));
  CHECK_THAT(problems(section("notices", "digest: \"7:30\"")),
             Contains("a time of the day such as 07:30"));
  CHECK(problems(section("notices", "quiet: \"\", digest: \"\"")).empty());
}

TEST_CASE("Repeats and a digest that cannot be sent as asked are reported") {
  CHECK_THAT(problems(section("notices", "longest_again: 30 min")),
             Contains("notices.longest_again: it is shorter than urgent_again or soon_again"));
  const Loaded hidden = load(section("notices", "digest: \"06:00\""));
  CHECK(hidden.problems.empty());
  REQUIRE(hidden.warnings.size() == 1);
  CHECK_THAT(hidden.warnings[0], Contains("the digest falls into the quiet hours"));
}

TEST_CASE("Metrics are served only to this machine unless a password guards them") {
  CHECK(load(house("")).settings->metrics.listen.empty());
  CHECK_THAT(problems(section("metrics", "listen: \"0.0.0.0:8633\"")),
             Contains("metrics.listen: whoever reaches this address could read the metrics"));
  CHECK(problems(section("metrics", "listen: \"0.0.0.0:8633\", password_file: p")).empty());
  CHECK(problems(section("metrics", "listen: \"127.0.0.1:8633\"")).empty());
  CHECK_THAT(problems(section("metrics", "listen: \"127.0.0.1:8632\"")),
             Contains("board.listen has the same port"));
}

TEST_CASE("A display board has at least eight characters and one line") {
  CHECK_THAT(problems(section("placards", "width: 7")), Contains("placards.width"));
  CHECK_THAT(problems(section("placards", "lines: 9")), Contains("placards.lines"));
  CHECK(load(section("placards", "width: 16, lines: 4, ascii: false")).settings->placards.lines ==
        4);
}
