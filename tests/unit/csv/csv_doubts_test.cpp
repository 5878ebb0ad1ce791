// What a described file may mean otherwise than it seems: units, times, commas and shares of 1.
#include <catch2/catch.hpp>

#include "found.h"

using namespace plainwater;
using namespace plainwater::tool;
using Catch::Matchers::Contains;
using plainwater::testing::File;
using plainwater::testing::form;
using plainwater::testing::Found;
using plainwater::testing::found_in;
using plainwater::testing::Texts;

TEST_CASE("a unit that a heading states counts, however it is written") {
  for (const char* heading : {"T1 °F", "Temp (F)", "temp_f", "Fahrenheit", "T [℉]", "degF"}) {
    INFO(heading);
    const std::string text = std::string("t,") + heading + "\n2025-09-20T07:30:00Z,70.475\n";
    CHECK(found_in(File(text), form({"time=t", std::string("mist-a=") + heading})).values ==
          Texts{"2 2025-09-20T07:30:00Z mist-a 0 21375"});
  }
  for (const char* heading : {"T [K]", "Kelvin", "temperature_k"}) {
    INFO(heading);
    const std::string text = std::string("t,") + heading + "\n2025-09-20T07:30:00Z,294.525\n";
    CHECK(found_in(File(text), form({"time=t", std::string("mist-a=") + heading})).values ==
          Texts{"2 2025-09-20T07:30:00Z mist-a 0 21375"});
  }
  for (const char* heading : {"degC", "Bench F", "probe-k", "Temp F2", "F", "T (°C)"}) {
    INFO(heading);
    const std::string text = std::string("t,") + heading + "\n2025-09-20T07:30:00Z,21\n";
    CHECK(found_in(File(text), form({"time=t", std::string("mist-a=") + heading})).values ==
          Texts{"2 2025-09-20T07:30:00Z mist-a 0 21000"});
  }
}

TEST_CASE("units count over numbered columns, in a row of units, and in a long file's words") {
  CHECK(found_in(File("when,Temp °F\n2025-09-20T07:30:00Z,70.475\n"), form({"time=1", "mist-a=2"}))
            .values == Texts{"2 2025-09-20T07:30:00Z mist-a 0 21375"});
  CHECK(found_in(File("when,T1 °F\n2025-09-20T07:30:00Z,70.475\n"), form({"time=1", "mist-a=2"}))
            .values == Texts{"2 2025-09-20T07:30:00Z mist-a 0 21375"});
  CHECK(
      found_in(File("t,v,p\n,F,m-2\n2025-09-20T07:30:00Z,70.475,1\n"), form({"time=t", "mist-a=v"}))
          .values == Texts{"3 2025-09-20T07:30:00Z mist-a 0 21375"});
  CHECK(found_in(File("t,v\n,°F\n2025-09-20T07:30:00Z,70.475\n"), form({"time=t", "mist-a=v"}))
            .values == Texts{"3 2025-09-20T07:30:00Z mist-a 0 21375"});
  const Found lines = found_in(
      File("t,id,what,v\n2025-09-20T07:30:00Z,mist-a,°F,70.475\n2025-09-20T07:31:00Z,mist-a,"
           "fahrenheit,70.475\n2025-09-20T07:32:00Z,mist-a,Temperature (F),70.475\n"
           "2025-09-20T07:33:00Z,mist-a,celsius,21\n"),
      form({"time=t", "sensor=id", "quantity=what", "value=v"}));
  CHECK(lines.values ==
        Texts{"2 2025-09-20T07:30:00Z mist-a 0 21375", "3 2025-09-20T07:31:00Z mist-a 0 21375",
              "4 2025-09-20T07:32:00Z mist-a 0 21375", "5 2025-09-20T07:33:00Z mist-a 0 21000"});
}

TEST_CASE("a unit that contradicts another is refused with both") {
  CHECK_THAT(found_in(File("t,T (°F)\n2025-09-20T07:30:00Z,70\n"),
                      form({"time=t", "mist-a.celsius=T (°F)"}))
                 .refused,
             Contains("is said to be in °C, and its heading \"T (°F)\" says °F"));
  const Found rows = found_in(File("t,id,what,v\n2025-09-20T07:30:00Z,mist-a,°F,70\n"),
                              form({"time=t", "sensor=id", "quantity=what", "value.kelvin=v"}));
  CHECK(rows.values.empty());
  REQUIRE(rows.told.size() == 1);
  CHECK_THAT(rows.told[0], Contains("\"°F\" says °F, and column \"v\" is in K"));
}

TEST_CASE("rows of one moment that occurs twice are no repetition of each other") {
  const Found found =
      found_in(File("t,id,what,v\n2025-10-26 01:30,mist-a,temp,2\n2025-10-26 01:30,mist-a,rh,60\n"
                    "2025-10-26 01:30,mist-a,temp,3\n2025-10-26 01:30,mist-a,rh,61\n"),
               form({"time=t", "sensor=id", "quantity=what", "value=v"}, "Europe/London"));
  CHECK(found.values ==
        Texts{"2 2025-10-26T00:30:00Z mist-a 0 2000", "3 2025-10-26T00:30:00Z mist-a 1 60000",
              "4 2025-10-26T01:30:00Z mist-a 0 3000", "5 2025-10-26T01:30:00Z mist-a 1 61000"});
}

TEST_CASE("a file from new to old with local times that occur twice is refused") {
  const auto made = form({"time=t", "mist-a=v"}, "Europe/London");
  CHECK_THAT(found_in(File("t,v\n2025-10-26 03:30,1\n2025-10-26 01:30,2\n2025-10-26 01:30,3\n"
                           "2025-10-26 00:30,4\n"),
                      made)
                 .refused,
             Contains("its lines go from new to old, and 2 of their local times occur twice"));
  CHECK(found_in(File("t,v\n2025-10-25 03:30,1\n2025-10-25 01:30,2\n"), made).refused.empty());
}

TEST_CASE("ten digits that may be a date are not taken as seconds") {
  const auto made = form({"time=t", "mist-a=v"});
  CHECK_THAT(found_in(File("t,v\n2025092007,1\n2025092008,2\n"), made).refused,
             Contains("whether ten digits are a date or seconds since 1970"));
  CsvForm stated = made;
  stated.times = CsvTimes::unix;
  CHECK(found_in(File("t,v\n1710010000,1\n"), stated).values.size() == 1);
  CHECK(found_in(File("t,v\n1710010000,1\n1710019900,2\n"), made).values.size() == 2);
}

TEST_CASE("commas that may be decimal marks are asked about where columns are numbers") {
  auto made = form({"time=1", "mist-a=2"});
  const File file("2025-09-20T07:30:00Z,21,5\n2025-09-20T07:40:00Z,21,6\n");
  const Found found = found_in(file, made);
  CHECK_THAT(found.refused, Contains("line 1 has 3 fields between commas"));
  CHECK_THAT(found.remedy, Contains("--separator comma") && Contains("--decimal comma"));
  CHECK(found_in(File("when,warm,damp\n2025-09-20T07:30:00Z,21,5\n"), made).values ==
        Texts{"2 2025-09-20T07:30:00Z mist-a 0 21000"});
  made.separator = CsvSeparator::comma;
  CHECK(found_in(file, made).values.size() == 2);
}

TEST_CASE("a year of two digits beside those of four is refused") {
  const Found found =
      found_in(File("t,v\n13/01/2025 07:30,1\n25/02/03 07:30,2\n14/01/2025 07:30,3\n"),
               form({"time=t", "mist-a=v"}, "UTC"));
  CHECK(found.values ==
        Texts{"2 2025-01-13T07:30:00Z mist-a 0 1000", "4 2025-01-14T07:30:00Z mist-a 0 3000"});
  CHECK(found.skipped == 1);
  CHECK_THAT(found.told.at(0), Contains("has a year of two digits"));
}

TEST_CASE("a humidity that is never above 1 is no percentage") {
  const std::string text = "t,v\n2025-09-20T07:30:00Z,0.63\n2025-09-20T07:40:00Z,1\n";
  CHECK_THAT(found_in(File(text), form({"time=t", "mist-a.humidity=v"})).refused,
             Contains("no humidity of column \"v\" is above 1"));
  CHECK_THAT(found_in(File(text), form({"time=t", "mist-a.humidity=v"})).remedy,
             Contains("mist-a.humidity.fraction=v"));
  CHECK(found_in(File(text), form({"time=t", "mist-a.humidity.fraction=v"})).refused.empty());
  CHECK(found_in(File(text + "2025-09-20T07:50:00Z,63\n"), form({"time=t", "mist-a.humidity=v"}))
            .refused.empty());
}
