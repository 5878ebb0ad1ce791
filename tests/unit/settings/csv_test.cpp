// The section csv, and what its columns may say.
#include <catch2/catch.hpp>

#include "loading.h"
#include "settings/csv_columns.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;

namespace {

std::string csv(std::string_view keys) { return house("csv: {" + std::string(keys) + "}\n"); }

std::string wrong(const std::vector<std::string>& texts) {
  std::vector<CsvColumn> columns;
  for (const std::string& text : texts) {
    auto column = read_csv_column(text);
    if (!column) return column.error().what;
    columns.push_back(*column);
  }
  const auto fault = fault_of(columns);
  return fault ? fault->what : "";
}

}  // namespace

TEST_CASE("A column says what it holds, of which sensor and in which unit") {
  const auto sensor = read_csv_column("east-air.humidity.fraction = RH 1");
  REQUIRE(sensor);
  CHECK(sensor->sensor == "east-air");
  CHECK(sensor->use == CsvColumn::Use::humidity);
  CHECK(sensor->fraction);
  CHECK(sensor->column == "RH 1");
  const auto value = read_csv_column("value.fahrenheit.fraction=v");
  REQUIRE(value);
  CHECK(value->sensor.empty());
  CHECK(value->unit == Unit::fahrenheit);
  CHECK(read_csv_column("28-0316a.temperature=T")->sensor == "28-0316a");
  CHECK(read_csv_column("time.temperature=T")->sensor == "time");
  CHECK(read_csv_column("east=a=b")->column == "a=b");
  for (const char* bad : {"east-air", "east-air=", "=T1", "time.kelvin=t", "humidity.celsius=h",
                          "humidity.percent.fraction=h", "east air=T", "place.fraction=p"})
    CHECK_FALSE(read_csv_column(bad));
}

TEST_CASE("Columns make a long file or a wide one") {
  CHECK(wrong({"time=t", "east=T1", "east.humidity=RH"}).empty());
  CHECK(wrong({"date=d", "time=t", "sensor=s", "value=v", "quantity=q"}).empty());
  CHECK(wrong({"time=t", "sensor=s", "humidity=h"}).empty());
  CHECK_THAT(wrong({"east=T1"}), Contains("no column of times"));
  CHECK_THAT(wrong({"time=t"}), Contains("no column of readings"));
  CHECK_THAT(wrong({"time=t", "temperature=T"}), Contains("whose the readings are"));
  CHECK_THAT(wrong({"time=t", "sensor=s", "east=T"}), Contains("of one sensor"));
  CHECK_THAT(wrong({"time=t", "east=a", "east.celsius=b"}), Contains("east is named twice"));
  CHECK_THAT(wrong({"time=t", "sensor=s", "quantity=q", "humidity=h"}), Contains("without value"));
  CHECK_THAT(wrong({"time=t", "sensor=s", "value=v", "humidity=h"}), Contains("beside"));
}

TEST_CASE("An offset from UTC has a sign, hours and minutes") {
  CHECK(read_utc_offset("+01:00") == 3600);
  CHECK(read_utc_offset("-09:30") == -34200);
  for (const char* bad : {"", "01:00", "+1:00", "+01", "+15:00", "+01:60", "+0a:00"})
    CHECK_FALSE(read_utc_offset(bad));
}

TEST_CASE("The section csv is read, checked with its line, and printed") {
  const auto loaded =
      load(csv("columns: [time=Zeit, east-air=T1], separator: semicolon, decimal: "
               "comma, times: day-first, zone: Europe/Berlin"));
  REQUIRE(loaded.settings);
  CHECK(loaded.settings->csv == CsvForm{{"time=Zeit", "east-air=T1"},
                                        CsvSeparator::semicolon,
                                        DecimalMark::comma,
                                        CsvTimes::day_first,
                                        "Europe/Berlin"});
  CHECK_THAT(print_merged(*loaded.settings), Contains("times: day-first"));
  CHECK_THAT(problems(csv("zone: over there")), Contains("house.yaml:8: csv.zone"));
  CHECK_THAT(problems(csv("columns: [time=t]")),
             Contains("house.yaml:8: csv.columns: no column of readings"));
  CHECK_THAT(problems(csv("columns: [zeit]")), Contains("\"zeit\": it has no ="));
  CHECK_THAT(problems(csv("times: swiss")), Contains("day-first"));
  CHECK(problems(csv("zone: site")).empty());
  CHECK(problems(csv("zone: \"+01:00\"")).empty());
}
