// A site against its time zone, by tables of the zone database.
#include "settings/zone_place.h"

#include <catch2/catch.hpp>

using namespace plainwater;
using Catch::Matchers::Contains;

namespace {

const std::string kTable =
    "# tz zone descriptions\n"
    "#codes\tcoordinates\tTZ\tcomments\n"
    "GB,GG,IM,JE\t+513030-0000731\tEurope/London\n"
    "US\t+404251-0740023\tAmerica/New_York\tEastern (most areas)\n"
    "AU\t-3352+15113\tAustralia/Sydney\tNew South Wales (most areas)\n"
    "FJ\t-1808+17825\tPacific/Fiji\n"
    "SG,MY\t+0117+10351\tAsia/Singapore\tpeninsular Malaysia\n"
    "IN\t+2232+08822\tAsia/Kolkata\n";

ZonePlace zone(const char* name) {
  const auto place = place_of_zone(kTable, name);
  REQUIRE(place);
  return *place;
}

std::string wrong(double latitude, double longitude, const char* name) {
  const auto found = wrong_place({latitude, longitude}, zone(name), name);
  return found ? found->key + ": " + found->what + "; " + found->remedy : "";
}

}  // namespace

TEST_CASE("Coordinates of a zone, with and without seconds") {
  CHECK(zone("Europe/London").latitude == Approx(51.5083).margin(0.0001));
  CHECK(zone("Europe/London").longitude == Approx(-0.1253).margin(0.0001));
  CHECK(zone("Australia/Sydney").latitude == Approx(-33.8667).margin(0.0001));
  CHECK(zone("Pacific/Fiji").longitude == Approx(178.4167).margin(0.0001));
  CHECK_FALSE(place_of_zone(kTable, "UTC"));
  CHECK_FALSE(place_of_zone(kTable, "Etc/GMT-3"));
  CHECK_FALSE(place_of_zone("", "Europe/London"));
  for (const char* damaged : {"GB\t+51\tX/Y\n", "GB\t5130-00007\tX/Y\n", "GB\t+5130\tX/Y\n",
                              "GB\tX/Y\n", "GB\t+51a0-00007\tX/Y\n", "\t\t\n", "GB\t+5130-00007"})
    CHECK_FALSE(place_of_zone(damaged, "X/Y"));
}

TEST_CASE("An older name stands for a zone") {
  const std::string tzdata =
      "# version\nZ Asia/Kolkata 5:53:28 - LMT 1854\nL Asia/Kolkata Asia/Calcutta\n";
  CHECK(zone_behind(tzdata, "Asia/Calcutta") == "Asia/Kolkata");
  CHECK(zone_behind(tzdata, "Asia/Kolkata") == "Asia/Kolkata");
  CHECK(zone_behind("", "Asia/Calcutta") == "Asia/Calcutta");
}

TEST_CASE("A site that goes with its zone") {
  CHECK(wrong(52.2, -2.1, "Europe/London").empty());
  CHECK(wrong(52.2, 2.1, "Europe/London").empty());
  CHECK(wrong(-4, 102, "Asia/Singapore").empty());
  // Across the date line, both ways.
  CHECK(wrong(-17, -179, "Pacific/Fiji").empty());
  CHECK(wrong(-17, -137, "Pacific/Fiji").empty());
  CHECK_FALSE(wrong(-17, -136, "Pacific/Fiji").empty());
  // 45 degrees, both sides of the limit.
  CHECK(wrong(50, 44.8, "Europe/London").empty());
  CHECK_FALSE(wrong(50, 44.9, "Europe/London").empty());
  // Across the equator, both sides of the limit.
  CHECK(wrong(-13.7, 104, "Asia/Singapore").empty());
  CHECK_FALSE(wrong(-13.8, 104, "Asia/Singapore").empty());
}

TEST_CASE("A site that does not say where it went wrong") {
  CHECK(wrong(40.7, 74, "America/New_York") ==
        "site.longitude: 74 is 148° of longitude away from America/New_York; did you mean -74? "
        "east is "
        "positive, west negative");
  CHECK(
      wrong(33.9, 151.2, "Australia/Sydney") ==
      "site.latitude: 33.9 is on the other side of the equator from Australia/Sydney; did you mean "
      "-33.9? north is positive, south negative");
  CHECK_THAT(wrong(-2.1, 52.2, "Europe/London"),
             Contains("are latitude and longitude the other way round?"));
  CHECK_THAT(wrong(52.2, -2.1, "Asia/Kolkata"), Contains("correct the place or time_zone"));
}

TEST_CASE("A zone by part of its name") {
  CHECK(meant_zone(kTable, "London") == "did you mean Europe/London?");
  CHECK(meant_zone(kTable, "europe/london") == "did you mean Europe/London?");
  CHECK(meant_zone(kTable, "New York") == "did you mean America/New_York?");
  CHECK(meant_zone(kTable, "Europe/Lodnon") == "did you mean Europe/London?");
  CHECK(meant_zone(kTable, "Mars/Olympus_Mons").empty());
}
