// Files of other layouts: which columns are found, what their rows say, and what is refused.
#include "plainwater/mapped_csv.h"

#include <catch2/catch.hpp>

#include "damage.h"
#include "found.h"

using namespace plainwater;
using namespace plainwater::tool;
using Catch::Matchers::Contains;
using plainwater::testing::File;
using plainwater::testing::form;
using plainwater::testing::Found;
using plainwater::testing::found_in;
using plainwater::testing::Texts;

TEST_CASE("a wide file with semicolons, decimal commas, Fahrenheit and local times") {
  const File file(
      "\xEF\xBB\xBF\"Logger 7\"\r\n# exported\r\n\r\nDatum;Uhrzeit;T1;\"T2 "
      "(°F)\";RH1\r\n;;°C;°F;\r\n"
      "20.09.2025;07:30;21,375;70,475;0,63\r\n21.09.2025;07:30;;50;-\r\n");
  const Found found = found_in(file, form({"date=Datum", "time=Uhrzeit", "mist-a=T1",
                                           "long-a=T2 (°F)", "mist-a.humidity.fraction=RH1"},
                                          "site"));
  CHECK(found.refused.empty());
  CHECK(found.values ==
        Texts{"6 2025-09-20T06:30:00Z mist-a 0 21375", "6 2025-09-20T06:30:00Z long-a 0 21375",
              "6 2025-09-20T06:30:00Z mist-a 1 63000", "7 2025-09-21T06:30:00Z long-a 0 10000"});
  CHECK(found.skipped == 0);
}

TEST_CASE("a long file with a sensor and a value") {
  const File file(
      "when\tid\twhat\tvalue\n2025-09-20T07:30:00Z\tmist-a\tTemperature\t294.525\n"
      "2025-09-20T07:30:00Z\tmist-a\t%RH\t63\n2025-09-20T07:30:00Z\tmist-a\tlux\t900\n"
      "2025-09-20T07:31:00Z\t\tTemperature\t294\n2025-09-20T07:32:00Z\tlong-a\tplace\toutdoors\n");
  const Found found =
      found_in(file, form({"time=when", "sensor=id", "quantity=what", "value.kelvin=value"}));
  CHECK(found.values == Texts{"2 2025-09-20T07:30:00Z mist-a 0 21375",
                              "3 2025-09-20T07:30:00Z mist-a 1 63000",
                              "6 2025-09-20T07:32:00Z long-a 2 1000"});
  CHECK(found.skipped == 2);
  CHECK_THAT(found.told[0], Contains("f:4: column \"what\": neither temperature"));
  CHECK_THAT(found.told[1], Contains("f:5: column \"id\": no sensor is named"));
}

TEST_CASE("columns that are called as ours or as sensors need no words") {
  const Texts both = {"2 2025-09-20T07:30:00Z mist-a 0 21400",
                      "2 2025-09-20T07:30:00Z mist-a 1 63000"};
  CHECK(found_in(File("time;sensor;temperature_c;humidity_percent\n"
                      "2025-09-20T07:30:00Z;mist-a;21,4;63\n"))
            .values == both);
  CHECK(found_in(File("time,mist-a,mist-a.humidity,other\n2025-09-20T07:30:00Z,21.4,63,7\n"))
            .values == both);
}

TEST_CASE("columns may be numbers where the header has no names") {
  CHECK(found_in(File("2025-09-20T07:30:00Z;21,4\n2025-09-20T07:40:00Z;21,5\n"),
                 form({"time=1", "mist-a=2"}))
            .values ==
        Texts{"1 2025-09-20T07:30:00Z mist-a 0 21400", "2 2025-09-20T07:40:00Z mist-a 0 21500"});
}

TEST_CASE("what cannot be told is asked for") {
  const auto wide = [](const std::string& zone) { return form({"time=t", "mist-a=v"}, zone); };
  const auto names = found_in(File("Zeit;T1;RH1\n2025-09-20T07:30:00Z;1;2\n"));
  CHECK_THAT(names.refused, Contains("the file has \"Zeit\", \"T1\", \"RH1\""));
  CHECK_THAT(names.remedy, Contains("--columns time=COLUMN,SENSOR=COLUMN"));
  CHECK_THAT(found_in(File("Zeit;T1\n"), form({"time=Zeit", "mist-a=T2"})).refused,
             Contains("\"Zeit\", \"T2\"; the file has \"Zeit\", \"T1\""));
  CHECK_THAT(found_in(File("t,v\n2025-09-20 07:30,1\n"), wide("")).refused,
             Contains("line 2: the time \"2025-09-20 07:30\" names no zone"));
  CHECK_THAT(found_in(File("t,v\n01/02/2025 07:30,1\n"), wide("UTC")).refused,
             Contains("whether the day or the month comes first"));
  CHECK_THAT(found_in(File("t,v\n13/01/2025 07:30,1\n01/14/2025 07:30,1\n"), wide("UTC")).refused,
             Contains("line 2 has the day before the month, line 3 after it"));
  CHECK(found_in(File("t,v\n01/02/2025 07:30,1\n02/13/2025 07:30,2\n"), wide("UTC")).values ==
        Texts{"2 2025-01-02T07:30:00Z mist-a 0 1000", "3 2025-02-13T07:30:00Z mist-a 0 2000"});
  CHECK_THAT(
      found_in(File("t,v\n25.09.20 07:30,1\n"), wide("UTC")).refused,
      Contains("years have two digits, so that any number of a date may be the day (see line 2)"));
  CHECK_THAT(found_in(File("\xFF\xFEt")).refused, Contains("UTF-16"));
  CHECK_THAT(found_in(File("")).refused, Contains("empty"));
  CHECK_THAT(found_in(File("t,v\n"), wide("Europe/Nowhere")).refused, Contains("no time zone"));
}

TEST_CASE("refused lines are counted by reason, with the first of each") {
  std::string text = "t,v\n";
  for (int i = 0; i < 5; ++i) text += "soon,1\n";
  text += "2025-09-20T07:30:00Z,\"21,4\"\n2025-09-20T07:31:00Z,21,4\n2025-09-20T07:32:00Z\n";
  text += "2025-09-20T07:33:00Z,\"1\n2025-09-20T07:34:00Z,99999\n2025-09-20T07:35:00Z,1\n";
  const Found found = found_in(File(text), form({"time=t", "mist-a=v"}));
  CHECK(found.values == Texts{"12 2025-09-20T07:35:00Z mist-a 0 1000"});
  CHECK(found.skipped == 10);
  REQUIRE(found.told.size() == 9);
  CHECK(found.told[0] == "f:2: column \"t\": the time cannot be read: \"soon\"; not used");
  CHECK(found.told[3] == "f: 5 times that cannot be read in all");
  CHECK_THAT(found.told[4], Contains("\"21,4\"; if its comma is the decimal mark, say --decimal"));
  CHECK_THAT(found.told[6], Contains("f:8: it has 3 fields, and 2 are expected"));
  CHECK_THAT(found.told[8], Contains("a quote is not closed"));
}

TEST_CASE("the decimal mark counts as it is stated") {
  CsvForm commas = form({"time=t", "mist-a=v"});
  commas.decimal = DecimalMark::comma;
  CHECK(found_in(File("t,v\n2025-09-20T07:30:00Z,\"21,4\"\n"), commas).values ==
        Texts{"2 2025-09-20T07:30:00Z mist-a 0 21400"});
  CHECK(found_in(File("t;v\n2025-09-20T07:30:00Z;21.4\n"), commas).skipped == 1);
  CHECK(
      found_in(File("t;v\n2025-09-20T07:30:00Z;1.021,4\n"), form({"time=t", "mist-a=v"})).skipped ==
      1);
  commas.decimal = DecimalMark::point;
  CHECK(found_in(File("t;v\n2025-09-20T07:30:00Z;21,4\n"), commas).skipped == 1);
}

TEST_CASE("local times at a change of the clocks are counted") {
  const Found found =
      found_in(File("t,v\n2025-03-30 01:30,1\n2025-10-26 01:30,2\n2025-10-26 01:30,3\n"),
               form({"time=t", "mist-a=v"}, "Europe/London"));
  CHECK(found.values ==
        Texts{"3 2025-10-26T00:30:00Z mist-a 0 2000", "4 2025-10-26T01:30:00Z mist-a 0 3000"});
  CHECK(found.twice == 2);
  REQUIRE(found.told.size() == 1);
  CHECK_THAT(found.told[0], Contains("f:2: column \"t\": \"2025-03-30 01:30\" never occurs"));
}

TEST_CASE("damaged lines of a described file are read or counted, and the next one is read") {
  const std::string head = "Zeit;T1;RH1\n", row = "20.09.2025 07:30;\"21,375\";63";
  const File file("");
  const CsvForm described = form({"time=Zeit", "mist-a=T1", "mist-a.humidity=RH1"}, "UTC");
  for_every_damage(row, [&](const std::string& text) {
    file.write(head + row + "\n" + text + "\n" + row + "\n");
    const Found found = found_in(file, described);
    INFO(text);
    if (!found.refused.empty()) {
      // A damaged day can contradict the others.
      REQUIRE_THAT(found.refused, Contains("the day before the month"));
      return;
    }
    REQUIRE(found.values.size() >= 4);
    const std::string last = found.values.back();
    REQUIRE_THAT(last, Contains("2025-09-20T07:30:00Z mist-a 1 63000"));
  });
}
