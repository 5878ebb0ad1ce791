// Which topics are sensors, and what is not certain about them.
#include <catch2/catch.hpp>

#include "house.h"

namespace plainwater::listen {

using Catch::Matchers::Contains;

TEST_CASE("Plain numbers by the names in their topics") {
  Air air;
  air.live("house/east/temperature", {"20.1", "20.2", "20.1"})
      .live("house/east/humidity", {"55", "56"})
      .live("house/temperature/west", {"68.5", "68.4"})
      .live("house/rh/west", {"0.61", "0.62"})
      .live("house/attic/temp", {"293", "293"})
      .live("house/cellar/temp", {"215", "216"});
  const Recognised found = air.recognised();
  CHECK(found.left_out.empty());
  const Source east = only(found, "house/east/temperature");
  CHECK(east.last == "20.1 °C");
  CHECK(east.sure == Sure::sure);
  CHECK(east.interval == seconds(10));
  CHECK(east.doubts.empty());
  CHECK(only(found, "house/east/humidity").entry.quantity == Quantity::humidity);
  CHECK(only(found, "house/temperature/west").entry.unit == Unit::fahrenheit);
  CHECK(only(found, "house/rh/west").last == "62 %RH");
  CHECK(only(found, "house/rh/west").entry.humidity_scale == 100);
  CHECK(only(found, "house/attic/temp").entry.unit == Unit::kelvin);
  CHECK(only(found, "house/cellar/temp").entry.scale == 0.1);
  CHECK_THAT(doubts(only(found, "house/cellar/temp")),
             Contains("by its range: 216 is taken as tenths"));
}

TEST_CASE("JSON with nested members, its unit and its time") {
  Air air;
  air.live("a/one",
           {R"({"data":{"temp":{"value":70.1,"unit":"F"},"hum":{"value":44}},"ts":1789363861})",
            R"({"data":{"temp":{"value":70.2,"unit":"F"},"hum":{"value":44}},"ts":1789363871})"});
  air.live(
      "a/two",
      {R"({"indoor":{"t":20.5,"rh":50},"outdoor":{"t":4.5,"rh":90},"battery":87,"rssi":-60})"});
  const Recognised found = air.recognised();
  const Source one = only(found, "a/one");
  CHECK(one.entry.temperature == "/data/temp/value");
  CHECK(one.entry.humidity == "/data/hum/value");
  CHECK(one.entry.time == "/ts");
  CHECK(one.entry.unit == Unit::fahrenheit);
  REQUIRE(found.sources.size() == 3);
  CHECK(found.sources[1].device == "/indoor");
  CHECK(found.sources[1].entry.humidity == "/indoor/rh");
  CHECK(found.sources[2].entry.temperature == "/outdoor/t");
  CHECK(found.sources[2].last == "4.5 °C, 90 %RH");
}

TEST_CASE("SenML by its names and units") {
  Air air;
  air.live(
      "pack/1",
      {R"([{"bn":"urn:dev:a:","n":"temp","u":"Cel","v":21.5},{"n":"hum","u":"%RH","v":55},{"n":"bat","u":"V","v":3}])"});
  air.live("pack/2", {R"([{"n":"temp","u":"degF","v":70}])"});
  air.live("pack/4", {R"([{"n":"temp","u":"K","v":147}])"});
  air.live("pack/3", {R"([{"n":"x17","u":"Cel","v":21.5}])"});
  const Recognised found = air.recognised();
  const Source one = only(found, "pack/1");
  CHECK(one.entry.form == PayloadForm::senml);
  CHECK(one.entry.temperature == "temp");
  CHECK(one.entry.humidity == "hum");
  CHECK_THAT(why_left(found, "pack/2"), Contains("SenML unit degF"));
  CHECK(only(found, "pack/3").entry.temperature == "x17");
  CHECK(why_left(found, "pack/4") == "its numbers are those of no air");
}

TEST_CASE("Contacts by name and word, and what is only binary") {
  Air air;
  air.live("bench/door", {"open", "closed"})
      .live("bench/place", {R"({"position":"outdoors"})"})
      .live("bench/reed", {R"({"contact":true})"})
      .live("plug/relay", {"ON", "OFF"})
      .live("blind/position", {"45"});
  const Recognised found = air.recognised();
  const Source door = only(found, "bench/door");
  CHECK(door.entry.quantity == Quantity::place);
  CHECK(door.entry.outdoors_word == "open");
  CHECK_THAT(doubts(door),
             Contains("open is taken to mean that the bench is outdoors; if closed does"));
  CHECK(only(found, "bench/place").entry.indoors_word == "indoors");
  CHECK(only(found, "bench/place").unit_sure == Sure::sure);
  CHECK(only(found, "bench/reed").entry.indoors_word == "false");
  CHECK(why_left(found, "plug/relay") == "text, not a number");
  CHECK_FALSE(why_left(found, "blind/position").empty());
}

TEST_CASE("What is not the air is left out with its reason") {
  Air air;
  air.live("house/soil/temperature", {"18.2"})
      .live("node/cpu_temp", {"48.5"})
      .live("a/temperature", {"1", "2", "3", "4"})
      .live("b/temperature", {"21.5 C"})
      .live("c/raw", {std::string("\xff\x00\x01", 3)})
      .live("d/air", {"{\"temp\":"})
      .live("e/power", {"17"})
      .live("f/huge", {std::string(70'000, 'x')})
      .live("g/temperature", {"400000"})
      .kept("h/config", R"({"temperature":20,"unit":"C"})");
  const Recognised found = air.recognised();
  CHECK(found.sources.empty());
  CHECK_THAT(why_left(found, "house/soil/temperature"), Contains("by the word soil"));
  CHECK_THAT(why_left(found, "node/cpu_temp"), Contains("by the word cpu"));
  CHECK(why_left(found, "a/temperature") == "it counts something");
  CHECK_THAT(why_left(found, "b/temperature"), Contains("send it without a unit"));
  CHECK(why_left(found, "c/raw") == "bytes that are not text");
  CHECK_THAT(why_left(found, "d/air"), Contains("JSON"));
  CHECK(why_left(found, "e/power") == "a number, but nothing says of what");
  CHECK_THAT(why_left(found, "f/huge"), Contains("larger than"));
  CHECK_THAT(why_left(found, "g/temperature"), Contains("no air"));
  CHECK_THAT(why_left(found, "h/config"), Contains("own settings"));
}

TEST_CASE("Plainwater's own topics are not sensors") {
  Air air;
  air.kept("plainwater/tern-bank/benches/mist/climate", R"({"temperature_c":21.5})")
      .kept("plainwater/tern-bank/service/main", "online")
      .live("plainwater/notes", {"hello"});
  const Recognised found = air.recognised();
  CHECK(found.ours == 2);
  CHECK(found.sources.empty());
  CHECK(found.left_out.size() == 1);
}

TEST_CASE("What is doubtful says so") {
  Air air;
  air.kept("house/a/temperature", "20.5")
      .live("x/4711", {"20.5", "20.6"})
      .live("house/b/temperature", {"20.5", "55.5"})
      .live("house/c/temperature", {"20.5", R"({"t":20})", "20.5"});
  const Recognised found = air.recognised();
  CHECK_THAT(doubts(only(found, "house/a/temperature")), Contains("had kept"));
  CHECK(only(found, "house/a/temperature").only_retained);
  CHECK(only(found, "x/4711").sure == Sure::doubtful);
  CHECK_THAT(doubts(only(found, "x/4711")), Contains("by its numbers alone"));
  CHECK_THAT(doubts(only(found, "house/b/temperature")), Contains("jumps"));
  CHECK_THAT(doubts(only(found, "house/c/temperature")), Contains("another form"));
  Air warm;
  warm.live("house/d/temperature", {"40"});
  CHECK_THAT(doubts(only(warm.recognised(), "house/d/temperature")),
             Contains("if it is °F (4.4 °C), write unit: fahrenheit"));
}

TEST_CASE("A time that cannot be used is named and not used") {
  const auto with = [](const std::string& time) {
    Air air;
    air.live("a/b", {R"({"t":20.5,"time":)" + time + "}"});
    return only(air.recognised(), "a/b");
  };
  CHECK(with("1789363850").entry.time == "/time");
  CHECK(with("1789363850000").entry.time == "/time");
  CHECK(with("\"2026-09-14T07:31:00+02:00\"").entry.time == "/time");
  const Source behind = with("\"2026-09-14T02:31:00Z\"");
  CHECK(behind.entry.time.empty());
  CHECK(behind.late_time == "/time");
  CHECK_THAT(doubts(behind), Contains("its clock is 3 h behind"));
  CHECK_THAT(doubts(with("\"2026-09-14T05:41:00Z\"")), Contains("10 min ahead"));
  Air sometimes;
  sometimes.live("a/b", {R"({"t":20.5,"time":"unset"})", R"({"t":20.5,"time":1789363870})"});
  CHECK_THAT(doubts(only(sometimes.recognised(), "a/b")), Contains("not a time in every message"));
  CHECK_THAT(doubts(with("\"14.09.2026 05:31\"")), Contains("is not a time as RFC 3339"));
}

TEST_CASE("Payloads with more than is looked at say so") {
  Air air;
  std::string many = R"({"temperature":20.5)";
  for (int i = 0; i < 100; ++i) many += ",\"m" + std::to_string(i) + "\":1";
  air.live("a/b", {many + "}"});
  CHECK_THAT(doubts(only(air.recognised(), "a/b")), Contains("the first 64 fields"));
}

TEST_CASE("A unit that is given and no air is corrected, and said") {
  Air air;
  air.live("a/b", {R"({"temperature":68.5,"unit":"C"})"});
  const Source source = only(air.recognised(), "a/b");
  CHECK(source.entry.unit == Unit::fahrenheit);
  CHECK(source.unit_sure == Sure::doubtful);
  CHECK_THAT(doubts(source), Contains("it says °C, but 68.5 °C is no air"));
}

}  // namespace plainwater::listen
