// Nights and holds as the season's JSON.
#include <boost/json.hpp>
#include <catch2/catch.hpp>
#include <cmath>

#include "../outlet/house.h"
#include "board/chart_page.h"
#include "board/season.h"

using namespace plainwater;
using namespace plainwater::board;
using plainwater::testing::house;

namespace {

engine::NightRow night(std::string bench, std::string date, double mean, feeding::Feeding feeding, int strength, Position position = Position::indoors) {
  engine::NightRow row;
  row.bench = std::move(bench);
  row.night = std::move(date);
  row.coverage = std::isfinite(mean) ? 1 : 0;
  row.counted = std::isfinite(mean);
  row.mean_c = mean;
  row.minimum_c = mean - 1;
  row.acclimated_c = std::nan("");
  row.metabolic_rate = std::nan("");
  row.feeding = feeding;
  row.strength_percent = strength;
  row.position = position;
  return row;
}

std::string hold(const char* decision, const char* time, int id = 1, const char* cause = "sharp-drop", const char* bench = "long") {
  return std::string(R"({"time":")") + time + R"(","bench":")" + bench + R"(","decision":")" + decision + R"(","cause":")" + cause +
         R"(","hold":{"id":)" + std::to_string(id) + R"(,"placed":"2026-09-20T06:00:00Z","earliest_end":"2026-10-18T06:00:00Z","latest_end":"2026-11-01T06:00:00Z"},"text":"why"})";
}

boost::json::value json(const std::string& text) { return boost::json::parse(text); }

const Dates kSeptember{"2026-09-01", "2026-09-30"};

}  // namespace

TEST_CASE("A night that is missing is a gap, and words stand in runs") {
  SeasonRows rows;
  rows.dates = kSeptember;
  rows.all = std::pair("2025-08-01", "2026-09-12");
  const auto full = feeding::Feeding::full, water = feeding::Feeding::plain_water;
  rows.nights = {night("long", "2026-08-31", 1, full, 100), night("long", "2026-09-10", 17.25, full, 100, Position::outdoors),
                 night("long", "2026-09-12", std::nan(""), water, 35)};
  const auto season = json(season_json(rows, *house()));
  CHECK(season.at("years") == json("[2025,2026]"));
  const auto& benches = season.at("benches").as_array();
  REQUIRE(benches.size() == 3);
  const auto& bench = benches[1];  // by name: cold-end, long, mist
  CHECK(bench.at("name") == "long");
  CHECK(bench.at("first_night") == "2026-09-10");
  CHECK(bench.at("nights") == 3);
  CHECK(bench.at("mean_c") == json("[17.25,null,null]"));
  CHECK(bench.at("acclimated_c") == json("[null,null,null]"));
  CHECK(bench.at("counted") == json("[[true,1],[false,2]]"));
  CHECK(bench.at("position") == json(R"([["outdoors",1],["unknown",1],["indoors",1]])"));
  CHECK(bench.at("feeding") == json(R"([["full",1],["unknown",1],["plain-water",1]])"));
  CHECK(bench.at("strength_percent") == json("[[100,1],[0,2]]"));
  CHECK(benches[0].at("first_night").is_null());
  CHECK(benches[0].at("counted") == json("[]"));
}

TEST_CASE("A hold's story is put together from what the ledger says of it") {
  HoldStory story;
  for (const auto& line : {hold("hold-placed", "2026-09-20T06:00:00Z"), hold("feeding-changed", "2026-09-20T06:00:00Z"), hold("hold-extended", "2026-09-25T06:00:00Z"),
                           hold("hold-confirmed", "2026-09-30T06:00:00Z"), hold("hold-confirmed", "2026-10-05T06:00:00Z"), hold("hold-ended", "2026-10-18T06:00:00Z")})
    story.take(line);
  story.take("{\"decision\":\"hold-placed\"");
  story.take("[]");
  const auto holds = json(story.json("long", kSeptember)).as_array();
  REQUIRE(holds.size() == 1);
  CHECK(holds[0].at("confirmed") == "2026-09-30T06:00:00Z");
  CHECK(holds[0].at("ended") == "2026-10-18T06:00:00Z");
  CHECK(holds[0].at("extended") == 1);
  CHECK(holds[0].at("withdrawn") == false);
  CHECK(json(story.json("mist", kSeptember)).as_array().empty());
}

TEST_CASE("Only what touches the dates is told, and a person's word is on no trial") {
  HoldStory story;
  story.take(hold("hold-placed", "2026-09-20T06:00:00Z", 1));
  story.take(hold("hold-withdrawn", "2026-09-29T06:00:00Z", 1));
  story.take(hold("hold-placed", "2026-12-01T06:00:00Z", 2, "grower"));
  const auto count = [&](const Dates& dates) { return json(story.json("long", dates)).as_array().size(); };
  CHECK(count({"2026-09-01", "2026-09-19"}) == 0);
  CHECK(count({"2026-09-01", "2026-09-20"}) == 1);
  CHECK(count({"2026-09-29", "2026-10-30"}) == 1);
  CHECK(count({"2026-09-30", "2026-10-30"}) == 0);
  const auto winter = json(story.json("long", {"2027-01-01", "2027-01-31"})).as_array();
  REQUIRE(winter.size() == 1);
  CHECK(winter[0].at("confirmed") == "2026-12-01T06:00:00Z");
  CHECK(winter[0].at("ended").is_null());
}

TEST_CASE("A stretch of dates is completed, or refused") {
  CHECK(stretch({}, {}, "2026-09-30")->from == "2025-10-01");
  CHECK(stretch("2026-01-01", {}, "2026-09-30")->to == "2026-09-30");
  CHECK(stretch("2027-01-01", {}, "2026-09-30")->to == "2027-01-01");
  CHECK(stretch({}, "2024-02-29", "2026-09-30")->from == "2023-03-02");
  for (const auto& [from, to] : {std::pair("2026-02-30", "2026-03-01"), std::pair("2026-3-1", "2026-03-02"), std::pair("2026-03-02", "2026-03-01"),
                                 std::pair("1900-01-01", "2026-01-01"), std::pair("", "2026-01-01"), std::pair("2026-01-01T00", "2026-01-02")})
    CHECK_FALSE(stretch(std::string(from), std::string(to), "2026-09-30"));
}

TEST_CASE("The chart's page is one piece, whatever a sentence holds") {
  SeasonRows rows;
  rows.dates = kSeptember;
  std::string line = hold("hold-placed", "2026-09-20T06:00:00Z");
  line.replace(line.find("why"), 3, "</script><!--");
  rows.holds.take(line);
  const std::string page = chart_page(rows, *house());
  CHECK(page.find("</script><!--") == std::string::npos);
  const std::string open = "id=\"season-data\">";
  const auto begin = page.find(open) + open.size(), end = page.find("</script>", begin);
  const auto data = json(page.substr(begin, end - begin));
  CHECK(data.at("site").at("name") == "testing");
  CHECK(data.at("benches").as_array()[1].at("holds").as_array()[0].at("text") == "</script><!--");
  CHECK(page.find("src=") == std::string::npos);
  CHECK(page.find("Dygraph") != std::string::npos);
}
