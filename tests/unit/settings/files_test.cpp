// Whole files: shipped ones load, truncated or hostile ones are refused, printed ones load again.
#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>

#include "damage.h"
#include "loading.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;

namespace {

const std::string kSource = PLAINWATER_SOURCE;

std::string read(const std::string& path) {
  std::ifstream file(kSource + path);
  REQUIRE(file);
  return {std::istreambuf_iterator<char>(file), {}};
}

std::string with(std::string text, const std::string& placeholder, const std::string& value) {
  const auto at = text.find(placeholder);
  REQUIRE(at != std::string::npos);
  return text.replace(at, placeholder.size(), value);
}

}  // namespace

TEST_CASE("The sample in the repository is the printed one") {
  CHECK(read("/config/sample.yaml") == print_sample());
}

TEST_CASE("The sample loads without a problem or warning") {
  const Loaded loaded = load(print_sample());
  CHECK(problems(print_sample()).empty());
  CHECK(loaded.warnings.empty());
  REQUIRE(loaded.settings);
  CHECK(loaded.settings->text == print_sample());
}

TEST_CASE("The sample with every key uncommented loads to the same settings") {
  std::string all;
  for (const char c : print_sample()) {
    const bool begins_key = !all.empty() && all.back() == '#' && c >= 'a' && c <= 'z';
    if (begins_key) all.pop_back();
    all += c;
  }
  CHECK_THAT(all, Contains("\n  raw_days: 400\n") && Contains("\n  night_coverage: 0.5\n"));
  CHECK(problems(all).empty());
  const Loaded taken_in = load(all), as_is = load(print_sample());
  REQUIRE(taken_in.settings);
  REQUIRE(as_is.settings);
  CHECK(print_merged(*taken_in.settings) == print_merged(*as_is.settings));
}

TEST_CASE("A prefix of the sample gives settings or problems") {
  const std::string sample = print_sample();
  // Cuts at every place in a line; every byte of the file would take five times as long.
  for (std::size_t size = 0; size <= sample.size(); size += size < 500 ? 1 : 7) {
    const Loaded loaded = load(std::string_view(sample).substr(0, size));
    if ((loaded.settings == nullptr) != !loaded.problems.empty()) FAIL("at " << size << " bytes");
  }
}

TEST_CASE(
    "A prefix of Tern Bank loads if every section begun is complete, otherwise its problems have "
    "lines") {
  const std::string whole = read("/config/tern-bank.yaml");
  const std::size_t first_bench = whole.find("sensors: [mist-a, mist-b]"),
                    pumps = whole.find("\npumps:");
  REQUIRE(pumps != std::string::npos);
  std::size_t taken = 0;
  for_every_prefix(whole, [&](const std::string& text) {
    const Loaded loaded = load(text);
    INFO(text.substr(text.size() - std::min<std::size_t>(text.size(), 60)));
    const auto lines = 1 + std::count(text.begin(), text.end(), '\n');
    for (const Problem& problem : loaded.problems)
      REQUIRE((!problem.what.empty() && problem.line >= 0 && problem.line <= lines));
    REQUIRE((loaded.settings != nullptr) == loaded.problems.empty());
    if (!loaded.settings) return;
    ++taken;
    REQUIRE(text.size() > first_bench);
    const Loaded again = load(print_merged(*loaded.settings));
    REQUIRE(again.settings);
    REQUIRE(print_merged(*again.settings) == print_merged(*loaded.settings));
    // Between the benches and the pumps all four benches are complete.
    if (text.size() > pumps) REQUIRE(loaded.settings->benches.size() == 4);
  });
  CHECK(taken > 0);
  CHECK(taken < whole.size() - first_bench);
}

TEST_CASE("Damaged settings are loaded or refused, and print as they were loaded") {
  const std::string whole = house(
      "    group: warm\nsensors: {east-air: {topic: a/b, unit: kelvin}}\npumps:\n  one: {benches: "
      "[east]}\n");
  REQUIRE(problems(whole).empty());
  std::size_t loaded_ones = 0, refused = 0;
  for_every_damage(whole, [&](const std::string& text) {
    const Loaded loaded = load(text);
    INFO(text);
    REQUIRE((loaded.settings != nullptr) == loaded.problems.empty());
    ++(loaded.settings ? loaded_ones : refused);
    if (loaded.settings) REQUIRE(load(print_merged(*loaded.settings)).settings);
  });
  CHECK(loaded_ones > 0);
  CHECK(refused > loaded_ones / 4);
}

TEST_CASE("The Tern Bank scenario") {
  const Loaded loaded = load_settings_file(kSource + "/config/tern-bank.yaml");
  for (const Problem& problem : loaded.problems) UNSCOPED_INFO(message(problem, "tern-bank.yaml"));
  REQUIRE(loaded.settings);
  CHECK(loaded.warnings.empty());
  const Settings& settings = *loaded.settings;
  CHECK(settings.sensors.size() == 9);
  CHECK(settings.benches.size() == 4);
  CHECK(settings.pumps.size() == 3);
  CHECK(settings.clock.time == ClockMode::readings);
  CHECK(settings.benches[*settings.bench("mist")].group == Group::warm);
}

TEST_CASE("The scorer's template, with and without references") {
  std::string text = read("/tests/score-settings.yaml.in");
  for (const auto& [placeholder, value] : {std::pair{"@LATITUDE@", "40.6"},
                                           {"@LONGITUDE@", "-73.8"},
                                           {"@WATCH_DROPS@", "false"},
                                           {"@WATCH_MOVES@", "true"}})
    text = with(text, placeholder, value);
  const std::string alone =
      with(with(with(text, "@BENCH_SENSORS@", "[bench]"), "@OUTDOOR_REFERENCE@", ""),
           "@INDOOR_REFERENCE@", "");
  const Loaded one = load(alone);
  REQUIRE(one.settings);
  CHECK(one.settings->site.outdoor_reference.empty());
  CHECK_FALSE(one.settings->drops.watch);
  CHECK_FALSE(one.settings->drops.season_gate);
  CHECK_FALSE(one.settings->drops.comfort_guard);
  CHECK(one.settings->moves.watch);
  CHECK(one.settings->benches[0].moves == Moves::watched);
  const Loaded more = load(with(with(with(text, "@BENCH_SENSORS@", "[bench-a, bench-b, bench-c]"),
                                     "@OUTDOOR_REFERENCE@", "outdoors"),
                                "@INDOOR_REFERENCE@", "indoors"));
  REQUIRE(more.settings);
  CHECK(more.settings->sensors.size() == 5);
}

TEST_CASE("Printed merged settings load to the same") {
  for (const std::string& text :
       {print_sample(), read("/config/tern-bank.yaml"),
        house("    moves: declared\n    place: outdoors\n    contact: door\nsensors:\n  east-air: "
              "{}\n"
              "  door: {quantity: place, outdoors_word: \"true\", indoors_word: \"0\"}\n"
              "moves: {sure: 0.99999, preset: fast, warmer: none, relief_ends_hold: yes}\n"),
        house("    group_night: 12.3\n    usual_summer_night: -0.1\n    lamps_hours: "
              "0.1\nsensors:\n  \"{1}\": "
              "{topic: \"a/+\", offset: 0.0001}\n"
              "store: {path: \"a \\\"b\\\" \\\\ ü: # \\n.db\"}\npumps: {\"no\": {benches: "
              "[east]}}\nbroker: "
              "{session_expiry: 90 s, keep_alive: 2 min}\n")}) {
    const Loaded loaded = load(text);
    REQUIRE(loaded.settings);
    const std::string merged = print_merged(*loaded.settings);
    INFO(merged);
    const Loaded again = load(merged);
    CHECK(problems(merged).empty());
    REQUIRE(again.settings);
    CHECK(print_merged(*again.settings) == merged);
    CHECK(again.settings->store.path == loaded.settings->store.path);
    CHECK(again.settings->benches[0].contact == loaded.settings->benches[0].contact);
  }
}

TEST_CASE("The reference names every key with its default") {
  const std::string keys = print_keys();
  CHECK_THAT(
      keys,
      Contains(
          "\n  benches.*.group\n      one of cool, intermediate, warm; default intermediate\n"));
  CHECK_THAT(
      keys,
      Contains(
          "\n  site.latitude\n      a number from -90 to 90 (degrees, north positive); needed\n"));
  CHECK_THAT(keys, Contains("\n  broker.session_expiry\n      a time with its unit (s, min, h or "
                            "d) from 1 min to 365 d; default 7 d\n"));
}

TEST_CASE("Text that is not YAML is reported with its line") {
  const Loaded loaded = load("site:\n  name: a\n name: [\n");
  REQUIRE(loaded.problems.size() == 1);
  CHECK(loaded.problems[0].line >= 3);
  CHECK_THAT(loaded.problems[0].what, Contains("this is not YAML"));
}

TEST_CASE("A caller can find the line of a key") {
  const Loaded loaded = load(house("    group: cool\n"));
  CHECK(loaded.lines.at("benches.east.group") == 8);
  CHECK(loaded.lines.at("site.longitude") == 4);
  CHECK_FALSE(loaded.lines.contains("site.time_zone"));
}

TEST_CASE("Hostile files are refused") {
  CHECK_THAT(problems(house("    group: &g cool\n  west: {group: *g, sensors: [a]}\n")),
             Contains("house.yaml:9: an alias (*name) is not accepted"));
  CHECK_THAT(problems(std::string(400, '[')), Contains("nested too deeply"));
  CHECK_THAT(problems(house("---\nsite: {}\n")),
             Contains("house.yaml:8: a second document begins here"));
  CHECK_THAT(problems("[a, b]: c\n"), Contains("house.yaml:1: a key must be a plain word"));
  CHECK_THAT(problems("site: {name: \xc3\x28}\n"),
             Contains("house.yaml:1: this line is not UTF-8"));
  CHECK_THAT(problems(std::string("site:\n  name: a\0b\n", 17)),
             Contains("house.yaml:2: this line is not UTF-8"));
  CHECK_THAT(problems(std::string(kLargestSettingsFile + 1, ' ')),
             Contains("house.yaml: the file is larger than 1024 KiB"));
  CHECK(load(kHouse + std::string(kLargestSettingsFile - kHouse.size(), '\n')).settings);
}

TEST_CASE("A file that cannot be read") {
  for (const std::string path : {"/no/such/file.yaml", "/"}) {
    const Loaded loaded = load_settings_file(path);
    CHECK_FALSE(loaded.settings);
    REQUIRE(loaded.problems.size() == 1);
    CHECK(loaded.problems[0].line == 0);
    CHECK_THAT(loaded.problems[0].what, Contains("cannot be"));
  }
}
