// What growers type by a slip or by habit: each is one mistake, in one line that says what to
// write.
#include "settings/meant.h"

#include <catch2/catch.hpp>

#include "loading.h"

using namespace plainwater;
using namespace plainwater::test;

namespace {

/// A key of a section or an entry.
struct Row {
  const char *section, *key, *typed, *says;
};

#include "meant_rows.h"

/// What stands behind "house.yaml:N: section.key: ".
std::string only_problem(const std::string& text, const std::string& path) {
  const Loaded loaded = load(text);
  CAPTURE(problems(text));
  REQUIRE(loaded.problems.size() == 1);
  const Problem& problem = loaded.problems[0];
  CHECK(problem.key == path);
  CHECK(problem.line > 0);
  CHECK((problem.what + problem.remedy).find('\n') == std::string::npos);
  return problem.remedy.empty() ? problem.what : problem.what + "; " + problem.remedy;
}

/// A house where the row's key is set once; keys of its one bench and of the site stand where the
/// others are.
std::string house_of(const Row& row) {
  const std::string key = std::string(row.key) + ": " + row.typed + "\n";
  const std::string section = row.section;
  if (section == "site") {
    const std::string name = row.key;
    return "site:\n" + std::string(name == "latitude" ? "" : "  latitude: 52.2\n") +
           (name == "longitude" ? "" : "  longitude: -2.1\n") + "  " + key +
           "benches: {east: {sensors: [east-air]}}\n";
  }
  if (section == "benches.east" && std::string(row.key) == "sensors")
    return house("").substr(0, house("").rfind("    sensors")) + "    " + key;
  if (section == "benches.east") return house("    " + key);
  const auto dot = section.find('.');
  if (dot == std::string::npos) return house(section + ":\n  " + key);
  const std::string entry = section.substr(dot + 1);
  std::string more = section.substr(0, dot) + ":\n  " + entry + ":\n    " + key;
  const std::string kind = section.substr(0, dot), name = row.key;
  if (kind == "sensors" && name != "topic") more += "    topic: a/b\n";
  if (kind == "sensors" && (name == "temperature" || name == "time")) more += "    form: json\n";
  if (kind == "sensors" && name == "time") more += "    temperature: /t\n";
  if (kind == "pump_reports")
    more += "    pump: line\n    topic: a/b\npumps: {line: {benches: [east]}}\n";
  if (kind == "pumps" && name != "benches") more += "    benches: [east]\n";
  if (kind == "recipes") {
    if (name != "label") more += "    label: 15-5-15\n";
    if (name != "ec_per_100ppm_n") more += "    ec_per_100ppm_n: 0.65\n";
    if (name != "injector_ratio") more += "    injector_ratio: 100\n";
    if (name != "target_ec" && name != "target_ppm_n") more += "    target_ppm_n: 100\n";
  }
  return house(more);
}

}  // namespace

TEST_CASE("What was typed, and what to write") {
  for (const Row& row : kRows) {
    INFO(row.section << "." << row.key << ": " << row.typed);
    CHECK(only_problem(house_of(row), std::string(row.section) + "." + row.key) == row.says);
  }
}
