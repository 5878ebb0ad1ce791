// Names that no bench, pump or sensor has.
#include "settings/unknown_name.h"

#include <catch2/catch.hpp>

using namespace plainwater;

namespace {

/// The porch was the courtyard; the long bench was split; the pump of both has another name.
Settings house() {
  Settings settings;
  for (const auto& [name, was] : {std::pair("cold-end", std::vector<std::string>{}),
                                  {"long-a", {"long"}},
                                  {"long-b", {"long"}},
                                  {"porch", {"courtyard"}}}) {
    Bench bench;
    bench.name = name;
    bench.was = was;
    settings.benches.push_back(bench);
  }
  Pump pump;
  pump.name = "line-two";
  pump.was = {"hose"};
  settings.pumps.push_back(pump);
  settings.sensors.push_back({.name = "porch-air", .was = {"yard-air"}});
  return settings;
}

std::string bench(const char* asked) { return words::in_english(no_such_bench(house(), asked)); }
std::string pump(const char* asked) { return words::in_english(no_such_pump(house(), asked)); }
std::string sensor(const char* asked) { return words::in_english(no_such_sensor(house(), asked)); }

}  // namespace

TEST_CASE("a mistyped name is answered with the one that is meant") {
  CHECK(bench("cold-ned") ==
        "there is no bench \"cold-ned\" in the settings; did you mean cold-end?");
  CHECK(pump("line-tow") ==
        "there is no pump \"line-tow\" in the settings; did you mean line-two?");
  CHECK(sensor("porch-iar") ==
        "there is no sensor \"porch-iar\" in the settings; did you mean porch-air?");
}

TEST_CASE("a name that is close to none gets no suggestion") {
  CHECK(bench("attic") == "there is no bench \"attic\" in the settings");
  CHECK(pump("") == "there is no pump \"\" in the settings");
  CHECK(sensor("weather") == "there is no sensor \"weather\" in the settings");
}

TEST_CASE("a former name is led to the present one, also when it is mistyped") {
  CHECK(bench("courtyard") == "bench \"courtyard\" is called porch now");
  CHECK(
      bench("cuortyard") ==
      "there is no bench \"cuortyard\" in the settings; did you mean porch, which was courtyard?");
  CHECK(pump("hose") == "pump \"hose\" is called line-two now");
  CHECK(sensor("yard-air") == "sensor \"yard-air\" is called porch-air now");
}

TEST_CASE("of a bench that was split all parts are named") {
  CHECK(bench("long") ==
        "bench \"long\" is in the settings no more, and several go on for it: long-a, long-b; name "
        "one of them");
}
