// Names, families and benches; and the text of settings that loads without problems.
#include "listen/entries.h"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <set>

#include "house.h"
#include "listen/settings_text.h"
#include "listen/table.h"
#include "settings/load.h"

namespace plainwater::listen {
namespace {

std::string names(const std::vector<Entry>& entries) {
  std::string out;
  for (const Entry& entry : entries)
    out += (out.empty() ? "" : " ") + entry.mapping.name + "=" + entry.mapping.topic +
           (entry.doubtful ? "?" : "");
  return out;
}

About place() {
  About about;
  about.broker.url = "mqtt://127.0.0.1:1883";
  about.heard = "within 2min";
  about.file = "my.yaml";
  about.time_zone = "Europe/London";
  about.latitude = 52.2;
  about.longitude = -2.1;
  return about;
}

Air mixed() {
  Air air;
  for (const char* where : {"mist", "long", "cold-end"})
    air.live(std::string("house/") + where + "/air", {R"({"t":20.5,"rh":55})"});
  air.live("house/courtyard/temperature", {"68.5"})
      .live("house/courtyard/humidity", {"0.55"})
      .live("weather/temperature", {"8.5"})
      .live("house/courtyard/door", {"open"})
      .live("odd/\"name\" with: #x", {"20.5"})
      .live("x/1", {"20.5"});
  return air;
}

}  // namespace

TEST_CASE("Three topics of one shape are a family, others have entries of their own") {
  const Recognised found = mixed().recognised();
  CHECK(names(entries_of(found.sources)) ==
        "{1}-air=house/+/air courtyard-door=house/courtyard/door "
        "courtyard-humidity=house/courtyard/humidity "
        "courtyard-temperature=house/courtyard/temperature "
        "weather-temperature=weather/temperature x-1=x/1?");
}

TEST_CASE("Sensors are grouped by place, and the outdoor one is the reference") {
  const Recognised found = mixed().recognised();
  const auto entries = entries_of(found.sources);
  const House house = house_of(entries);
  std::string benches;
  for (const ProposedBench& bench : house.benches) benches += bench.name + " ";
  CHECK(benches == "cold-end courtyard long mist ");
  CHECK(house.benches[1].sensors ==
        std::vector<std::string>{"courtyard-humidity", "courtyard-temperature"});
  CHECK(house.outdoors == "weather-temperature");
  CHECK(house.contacts == std::vector<std::string>{"courtyard-door"});
}

TEST_CASE("Without places there is one bench to be edited") {
  Air air;
  air.live("t1", {R"({"temp":20.5})"}).live("t2", {R"({"temp":21.5,"hum":50})"});
  const Recognised found = air.recognised();
  const House house = house_of(entries_of(found.sources));
  REQUIRE(house.benches.size() == 1);
  CHECK(house.one_bench);
  CHECK(house.benches[0].sensors.size() == 2);
}

TEST_CASE("Proposed settings load without problems, and each sensor is read as it was heard") {
  const Recognised found = mixed().recognised();
  const auto entries = entries_of(found.sources);
  const std::string text = settings_text(entries, house_of(entries), place());
  const Loaded loaded = load_settings_text(text, "my.yaml");
  for (const Problem& problem : loaded.problems) FAIL_CHECK(message(problem, "my.yaml"));
  REQUIRE(loaded.settings);
  CHECK(loaded.settings->benches.size() == 4);
  CHECK(loaded.settings->sensors.size() == 7);
  CHECK(text.find("CHECK: by its range: 68.5 is taken as °F, 20.3 °C") != std::string::npos);
  CHECK(text.find("#topic") == std::string::npos);
  CHECK(text.find("  #  topic: x/1") != std::string::npos);
}

TEST_CASE("Without a place the settings say what is missing, and nothing else is wrong") {
  const Recognised found = mixed().recognised();
  const auto entries = entries_of(found.sources);
  About about = place();
  about.latitude.reset();
  about.longitude.reset();
  const Loaded loaded =
      load_settings_text(settings_text(entries, house_of(entries), about), "my.yaml");
  REQUIRE(loaded.problems.size() == 2);
  CHECK(loaded.problems[0].key == "site.latitude");
  CHECK(loaded.problems[1].key == "site.longitude");
}

TEST_CASE("A clock that nobody keeps, and sensors of °F, are pointed out") {
  Air air;
  air.live("a/temp", {"68.5"}).live("b/temp", {"69.5"});
  const Recognised found = air.recognised();
  const auto entries = entries_of(found.sources);
  About about = place();
  CHECK(settings_text(entries, house_of(entries), about).find("trust_machine") ==
        std::string::npos);
  about.clock_kept = false;
  const std::string text = settings_text(entries, house_of(entries), about);
  CHECK(text.find("#clock:\n#  trust_machine: true\n") != std::string::npos);
  CHECK(text.find("#board:\n#  unit: fahrenheit\n") != std::string::npos);
  CHECK(load_settings_text(text, "my.yaml").problems.empty());
}

TEST_CASE("Names that others have are not given again") {
  const Recognised found = mixed().recognised();
  const auto entries = entries_of(found.sources, {"courtyard-door", "{1}-air"});
  const std::string given = names(entries);
  CHECK(given.find("house-courtyard-door=") != std::string::npos);
  CHECK(given.find("house-{1}-air=") != std::string::npos);
}

TEST_CASE("Names are unique whatever the topics") {
  Air air;
  for (const char* topic : {"a/x/b/c/temperature", "a/y/b/c/temperature", "a/b/c/temperature",
                            "b c/temperature", "b-c/temperature", "\xc3\xa9/temperature"})
    air.live(topic, {R"({"t":20.5})"});
  const Recognised found = air.recognised();
  const auto entries = entries_of(found.sources);
  std::set<std::string> sensors;
  std::size_t count = 0;
  for (const Entry& entry : entries) {
    sensors.insert(entry.sensors.begin(), entry.sensors.end());
    count += entry.sensors.size();
  }
  CHECK(count == 6);
  CHECK(sensors.size() == 6);
  const Loaded loaded =
      load_settings_text(settings_text(entries, house_of(entries), place()), "my.yaml");
  for (const Problem& problem : loaded.problems) FAIL_CHECK(message(problem, "my.yaml"));
}

TEST_CASE("Topics that make poor names are sensors all the same") {
  Air air;
  std::string wide;
  for (int i = 0; i < 50; ++i) wide += "\xc3\xa9";
  for (int i = 0; i < 12; ++i)
    air.live(fmt::format("/{}/{}/temperature", wide, i), {R"({"t":20.5})"})
        .live(fmt::format("{}{}/temp", wide, i), {R"({"t":20.5})"})
        .live(fmt::format("bench-1/{}/..", i), {R"({"temp":20.5})"})
        .live(fmt::format("/east/{}/t", i), {"20.5"});
  const Recognised found = air.recognised();
  CHECK(found.sources.size() == 48);
  const auto entries = entries_of(found.sources);
  std::set<std::string> sensors;
  for (const Entry& entry : entries) sensors.insert(entry.sensors.begin(), entry.sensors.end());
  CHECK(sensors.size() == 48);
  CHECK(names(entries).find("east-{1}-t=/east/+/t") != std::string::npos);
  const Loaded loaded =
      load_settings_text(settings_text(entries, house_of(entries), place()), "my.yaml");
  for (const Problem& problem : loaded.problems) FAIL_CHECK(message(problem, "my.yaml"));
}

TEST_CASE("Five thousand topics give one line and one entry") {
  Air air;
  for (int i = 0; i < 5000; ++i)
    air.live(fmt::format("junk/{}", i), {"17"}).live(fmt::format("maybe/{}/v", i), {"17.5"});
  const Recognised found = air.recognised();
  CHECK(found.sources.size() == 5000);
  CHECK(found.left_out.size() == 5000);
  const auto entries = entries_of(found.sources);
  REQUIRE(entries.size() == 1);
  CHECK(entries[0].mapping.topic == "maybe/+/v");
  CHECK(entries[0].doubtful);
  const std::string left = left_out_of(found);
  CHECK(left.find("junk/+") != std::string::npos);
  CHECK(left.find("(5000 topics)") != std::string::npos);
  CHECK(table_of(entries).find("and 4940 more") != std::string::npos);
}

TEST_CASE("The table fits a terminal") {
  const Recognised found = mixed().recognised();
  const std::string table = table_of(entries_of(found.sources)) + left_out_of(found);
  std::size_t widest = 0, columns = 0;
  for (const char c : table)
    if (c == '\n')
      columns = 0;
    else if ((static_cast<unsigned char>(c) & 0xC0) != 0x80)
      widest = std::max(widest, ++columns);
  CHECK(widest <= kTableWidth);
  CHECK(table.find("courtyard/humidity") != std::string::npos);
}

}  // namespace plainwater::listen
