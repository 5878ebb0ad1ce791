// Nights and holds as JSON: gaps stay gaps, runs add up, holds are told by what the ledger says of
// them.
#include "board/season.h"

#include <fmt/format.h>

#include "board/chart_page.h"
#include "board/files.h"
#include "shown_house.h"

using namespace plainwater;
using namespace plainwater::board;
using Catch::Contains;
using feeding::DecisionKind;

namespace {

engine::NightRow night(const char* bench, const char* date, double mean) {
  engine::NightRow n;
  n.bench = bench;
  n.night = date;
  n.coverage = 0.5;
  n.counted = true;
  n.mean_c = mean;
  n.minimum_c = mean - 1;
  n.acclimated_c = 18.126;
  n.metabolic_rate = 0.98765;
  n.position = Position::indoors;
  n.feeding = feeding::Feeding::reduced;
  n.strength_percent = 40;
  return n;
}

std::string told(DecisionKind kind, feeding::Cause cause, const char* time, const char* latest,
                 const std::string& text = "because", const char* bench = "long") {
  feeding::Decision d;
  d.kind = kind;
  d.cause = cause;
  d.time = at(time);
  d.bench = bench;
  d.said = words::as_it_is(text);
  d.hold = feeding::HoldView{
      3,          cause,     true, at("2026-09-14T05:41:00Z"), at("2026-09-21T05:41:00Z"),
      at(latest), at(latest)};
  return feeding::to_json(d);
}

int sum(const json::value& runs) {
  int all = 0;
  for (const auto& run : runs.as_array()) all += static_cast<int>(run.at(1).as_int64());
  return all;
}

json::value season_of(const SeasonRows& rows, const std::string& more = "") {
  const Folder folder;
  return parsed(season_json(rows, *house_at(folder / "a.db"), more));
}

}  // namespace

TEST_CASE("a night that is not there is a gap") {
  SeasonRows rows;
  rows.dates = {"2026-09-01", "2026-09-30"};
  rows.all = std::pair<std::string, std::string>("2025-12-30", "2027-01-02");
  auto blind = night("long", "2026-09-12", 11);
  blind.coverage = 0;
  blind.counted = false;
  blind.acclimated_c = blind.metabolic_rate = std::nan("");
  blind.feeding = feeding::Feeding::plain_water;
  rows.nights = {night("long", "2026-08-31", 1),
                 night("long", "2026-09-10", 17.258),
                 blind,
                 night("long", "2026-09-15", 12),
                 night("long", "2026-10-01", 1),
                 night("nobody", "2026-09-11", 5)};
  const auto season = season_of(rows);
  CHECK(season.at("years").as_array() == json::array{2025, 2026, 2027});
  const auto& bench = season.at("benches").at(1);
  CHECK(bench.at("first_night").as_string() == "2026-09-10");
  REQUIRE(bench.at("nights").as_int64() == 6);
  CHECK(bench.at("mean_c") == parsed("[17.26,null,null,null,null,12.00]"));
  CHECK(bench.at("minimum_c") == parsed("[16.26,null,null,null,null,11.00]"));
  CHECK(bench.at("acclimated_c") == parsed("[18.13,null,null,null,null,18.13]"));
  CHECK(bench.at("metabolic_rate") == parsed("[0.988,null,null,null,null,0.988]"));
  CHECK(bench.at("coverage") == parsed("[0.50,null,0.00,null,null,0.50]"));
  CHECK(bench.at("counted") == parsed("[[true,1],[false,4],[true,1]]"));
  CHECK(bench.at("position") ==
        parsed(R"([["indoors",1],["unknown",1],["indoors",1],["unknown",2],["indoors",1]])"));
  CHECK(bench.at("feeding") ==
        parsed(R"([["reduced",1],["unknown",1],["plain-water",1],["unknown",2],["reduced",1]])"));
  CHECK(bench.at("strength_percent") == parsed("[[40,1],[0,4],[40,1]]"));
  for (const char* runs : {"counted", "position", "feeding", "strength_percent"})
    CHECK(sum(bench.at(runs)) == 6);
  CHECK(season.at("benches").at(0).at("first_night").is_null());
  CHECK(season.at("benches").at(0).at("mean_c").as_array().empty());
}

TEST_CASE("a hold is told from its placing to its end, and only where it touches the stretch") {
  SeasonRows rows;
  rows.dates = {"2026-09-01", "2026-12-31"};
  const auto hold = [&] { return season_of(rows).at("benches").at(1).at("holds"); };
  rows.holds.take(told(DecisionKind::feeding_changed, feeding::Cause::cool_nights,
                       "2026-09-13T05:41:00Z", "2026-11-01T00:00:00Z"));
  rows.holds.take(told(DecisionKind::hold_confirmed, feeding::Cause::sharp_drop,
                       "2026-09-13T06:41:00Z", "2026-11-01T00:00:00Z"));
  rows.holds.take("no JSON");
  CHECK(hold().as_array().empty());

  rows.holds.take(told(DecisionKind::hold_placed, feeding::Cause::sharp_drop,
                       "2026-09-14T05:41:00Z", "2026-11-13T00:00:00Z", "Nights fell."));
  CHECK(
      hold().at(0) ==
      parsed(
          R"({"id":3,"cause":"sharp-drop","placed":"2026-09-14T05:41:00Z","since":null,"confirmed":null,"ended":null,"withdrawn":false,
    "earliest_end":"2026-09-21T05:41:00Z","latest_end":"2026-11-13T00:00:00Z","extended":0,"text":"Nights fell."})"));
  rows.holds.take(told(DecisionKind::hold_confirmed, feeding::Cause::sharp_drop,
                       "2026-09-24T05:41:00Z", "2026-11-13T00:00:00Z"));
  rows.holds.take(told(DecisionKind::hold_extended, feeding::Cause::sharp_drop,
                       "2026-10-24T05:41:00Z", "2026-11-20T00:00:00Z"));
  rows.holds.take(told(DecisionKind::hold_ended, feeding::Cause::after_hold, "2026-11-12T05:41:00Z",
                       "2026-11-20T00:00:00Z"));
  const auto whole = hold().at(0);
  CHECK(whole.at("confirmed").as_string() == "2026-09-24T05:41:00Z");
  CHECK(whole.at("ended").as_string() == "2026-11-12T05:41:00Z");
  CHECK(whole.at("extended").as_int64() == 1);
  CHECK(whole.at("latest_end").as_string() == "2026-11-20T00:00:00Z");
  CHECK_FALSE(whole.at("withdrawn").as_bool());

  // It was placed in the morning after the night of 13 September.
  for (const auto& [from, to, last, there] :
       {std::tuple("2026-08-01", "2026-09-12", "2026-12-01", false),
        std::tuple("2026-08-01", "2026-09-13", "2026-12-01", true),
        std::tuple("2026-11-12", "2026-12-01", "2026-12-01", true),
        std::tuple("2026-11-13", "2026-12-01", "2026-12-01", false),
        // Nights have not come further yet.
        std::tuple("2026-08-01", "2026-09-11", "2026-09-11", true)}) {
    INFO(from << " " << to);
    rows.dates = {from, to};
    rows.all = std::pair<std::string, std::string>("2026-08-01", last);
    CHECK(hold().as_array().size() == (there ? 1 : 0));
  }
}

TEST_CASE("a hold that was withdrawn says so, and a person's needs no trial") {
  SeasonRows rows;
  rows.dates = {"2026-09-01", "2026-12-31"};
  rows.holds.take(told(DecisionKind::hold_placed, feeding::Cause::sharp_drop,
                       "2026-09-14T05:41:00Z", "2026-11-13T00:00:00Z"));
  rows.holds.take(told(DecisionKind::hold_withdrawn, feeding::Cause::sharp_drop,
                       "2026-09-24T05:41:00Z", "2026-11-13T00:00:00Z"));
  rows.holds.take(told(DecisionKind::hold_placed, feeding::Cause::grower, "2026-09-15T05:41:00Z",
                       "2026-11-13T00:00:00Z", "asked", "mist"));
  const auto benches = season_of(rows).at("benches");
  CHECK(benches.at(1).at("holds").at(0).at("withdrawn").as_bool());
  CHECK(benches.at(1).at("holds").at(0).at("ended").as_string() == "2026-09-24T05:41:00Z");
  CHECK(benches.at(1).at("holds").at(0).at("confirmed").is_null());
  CHECK(benches.at(2).at("holds").at(0).at("confirmed").as_string() == "2026-09-15T05:41:00Z");
  CHECK(benches.at(0).at("holds").as_array().empty());
}

TEST_CASE("chills, dips and falls that were let pass are marked where they were") {
  SeasonRows rows;
  rows.dates = {"2026-09-01", "2026-12-31"};
  const auto mark = [&](DecisionKind kind, feeding::Cause cause, const char* time,
                        const char* key) {
    feeding::Decision d;
    d.kind = kind;
    d.cause = cause;
    d.bench = "long";
    d.time = *parse_rfc3339(time);
    if (*key != '\0') d.evidence.number(key, 8, 1);
    if (cause == feeding::Cause::chill)
      d.evidence.time("until", *parse_rfc3339("2026-11-03T04:00:00Z"));
    d.said = words::as_it_is("Told.");
    rows.marks.take(to_json(d));
  };
  mark(DecisionKind::feeding_changed, feeding::Cause::chill, "2026-11-01T04:00:00Z", "air_c");
  mark(DecisionKind::feeding_changed, feeding::Cause::chill, "2026-11-01T05:00:00Z", "");
  mark(DecisionKind::notice, feeding::Cause::dip, "2026-11-02T04:00:00Z", "lowest_c");
  mark(DecisionKind::notice, feeding::Cause::sharp_drop, "2026-11-03T04:00:00Z", "nights_now_c");
  mark(DecisionKind::hold_placed, feeding::Cause::sharp_drop, "2026-11-04T04:00:00Z",
       "nights_now_c");
  mark(DecisionKind::notice, feeding::Cause::dip, "2027-01-02T04:00:00Z", "lowest_c");
  rows.marks.take("no JSON");
  boost::json::array marks;
  const auto season = season_of(rows);
  for (const auto& bench : season.at("benches").as_array())
    for (const auto& m : bench.at("marks").as_array()) marks.push_back(m);
  CHECK(boost::json::value(marks) == parsed(R"([
    {"kind":"chill","time":"2026-11-01T04:00:00Z","until":"2026-11-03T04:00:00Z","text":"Told."},
    {"kind":"dip","time":"2026-11-02T04:00:00Z","until":null,"text":"Told."},
    {"kind":"fall","time":"2026-11-03T04:00:00Z","until":null,"text":"Told."}])"));
}

TEST_CASE("dates far from any season are none") {
  for (const char* date : {"0001-01-01", "1899-12-31", "9000-01-01", "9999-12-31"}) {
    CHECK_FALSE(is_date(date));
    CHECK_FALSE(stretch({}, std::string(date), "2026-09-30"));
  }
  CHECK(is_date("1900-01-01"));
}

TEST_CASE("a move that was judged before it placed a hold needs no trial") {
  const auto placed = [](bool judged) {
    feeding::Decision d;
    d.kind = DecisionKind::hold_placed;
    d.cause = feeding::Cause::shuttling;
    d.time = at("2026-09-19T06:47:12Z");
    d.bench = "long";
    d.hold = feeding::HoldView{4, d.cause, !judged, d.time, d.time, d.time, d.time};
    if (judged)
      d.evidence.number("length_days", 28, 1);
    else
      d.evidence.count("judged_after_nights", 3);
    SeasonRows rows;
    rows.dates = {"2026-09-01", "2026-09-30"};
    rows.holds.take(feeding::to_json(d));
    return season_of(rows).at("benches").at(1).at("holds").at(0).at("confirmed");
  };
  CHECK(placed(false).is_null());
  CHECK(placed(true) == "2026-09-19T06:47:12Z");
}

TEST_CASE("a stretch is completed, and a wrong one is none") {
  const auto dates = [](std::optional<std::string> from, std::optional<std::string> to) {
    const auto found = stretch(from, to, "2026-11-26");
    return found ? found->from + " " + found->to : std::string("none");
  };
  CHECK(dates({}, {}) == "2025-11-27 2026-11-26");
  CHECK(dates("2026-09-01", {}) == "2026-09-01 2026-11-26");
  CHECK(dates({}, "2024-02-29") == "2023-03-02 2024-02-29");
  CHECK(dates("2026-09-01", "2026-09-01") == "2026-09-01 2026-09-01");
  CHECK(dates("2026-12-24", {}) == "2026-12-24 2026-12-24");
  for (const char* wrong : {"", "2026-9-1", "2026-02-29", "2026-13-01", "2026-09-01T", "20260901",
                            "tomorrow", "2026-09-0a"}) {
    INFO(wrong);
    CHECK_FALSE(is_date(wrong));
    CHECK(dates(wrong, {}) == "none");
    CHECK(dates({}, wrong) == "none");
  }
  CHECK(dates("2026-09-02", "2026-09-01") == "none");
  CHECK(dates("2010-01-01", "2026-09-01") == "none");
  CHECK(date_after("2026-12-31", 1) == "2027-01-01");
  CHECK(date_after("2026-03-01", -1) == "2026-02-28");
}

TEST_CASE("a season in one page carries its data and loads nothing, whatever texts say") {
  const Folder folder;
  const auto settings = house_at(folder / "a.db");
  SeasonRows rows;
  rows.dates = {"2026-09-01", "2026-09-30"};
  rows.nights = {night("long", "2026-09-10", 17.25)};
  rows.holds.take(told(DecisionKind::hold_placed, feeding::Cause::grower, "2026-09-14T05:41:00Z",
                       "2026-11-13T00:00:00Z", "</script><!-- <script> ]]> & said Ines"));
  const auto page = chart_page(rows, *settings);
  CHECK_THAT(page, Catch::StartsWith("<!DOCTYPE html>\n<html lang=\"en\">") &&
                       Contains("<title>tern-bank: ") && Contains("default-src 'none'"));
  const std::string open = "<script type=\"application/json\" id=\"season-data\">";
  const auto begin = page.find(open) + open.size(), end = page.find("</script>", begin);
  REQUIRE(begin > open.size());
  const std::string data = page.substr(begin, end - begin);
  CHECK(data.find('<') == std::string::npos);
  const auto season = parsed(data);
  CHECK(season.at("site").at("name").as_string() == "tern-bank");
  CHECK(season.at("benches").at(1).at("holds").at(0).at("text").as_string() ==
        "</script><!-- <script> ]]> & said Ines");
  CHECK(season.at("benches") == season_of(rows).at("benches"));
  for (const char* load : {"<link", " src=", "@import", "url(http", "sourceMappingURL"}) {
    INFO(load);
    CHECK(page.find(load) == std::string::npos);
  }
  // Two scripts, the data and the program, each closed once.
  std::size_t closed = 0;
  for (auto at = page.find("</script"); at != std::string::npos; at = page.find("</script", at + 1))
    ++closed;
  CHECK(closed == 2);
}
