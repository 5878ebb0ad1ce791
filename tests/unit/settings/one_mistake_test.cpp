// One mistake gives one problem: what only follows from it is not reported beside it.
#include <catch2/catch.hpp>
#include <fstream>
#include <functional>
#include <sstream>

#include "loading.h"

using namespace plainwater;
using namespace plainwater::test;
using Catch::Matchers::Contains;

namespace {

using Lines = std::vector<std::string>;

Lines lines_of(const std::string& text) {
  Lines lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    if (!line.empty() && line.find('#') == std::string::npos) lines.push_back(line);
  return lines;
}

std::string joined(const Lines& lines) {
  std::string text;
  for (const std::string& line : lines) text += line + "\n";
  return text;
}

/// The sample with every key in it, and Tern Bank.
std::vector<Lines> houses() {
  std::string all;
  for (const char c : print_sample()) {
    const bool begins_key = !all.empty() && all.back() == '#' && c >= 'a' && c <= 'z';
    if (begins_key) all.pop_back();
    all += c;
  }
  std::ifstream file(std::string(PLAINWATER_SOURCE) + "/config/tern-bank.yaml");
  REQUIRE(file);
  const std::string tern_bank{std::istreambuf_iterator<char>(file), {}};
  return {lines_of(all), lines_of(tern_bank)};
}

std::size_t indent_of(const std::string& line) { return line.find_first_not_of(' '); }
/// A section, or an entry: nothing but keys below it.
bool holds_keys(const Lines& lines, std::size_t at) {
  return lines[at].ends_with(':') && at + 1 < lines.size() &&
         indent_of(lines[at + 1]) > indent_of(lines[at]);
}
/// The lines without what stands below `at`.
Lines without_keys_of(Lines lines, std::size_t at) {
  while (at + 1 < lines.size() && indent_of(lines[at + 1]) > indent_of(lines[at]))
    lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(at) + 1);
  return lines;
}

/// None when the change makes no sense at this line.
using Change = std::function<std::optional<Lines>(Lines, std::size_t)>;

std::optional<Lines> of_value(Lines lines, std::size_t at) {
  if (holds_keys(lines, at)) return std::nullopt;
  lines[at] = lines[at].substr(0, lines[at].find(':')) + ": {a: b}";
  return lines;
}
std::optional<Lines> of_key(Lines lines, std::size_t at) {
  const std::size_t colon = lines[at].find(':');
  const bool is_entry = indent_of(lines[at]) > 0 && holds_keys(lines, at);
  if (is_entry || lines[at].find('"') < colon) return std::nullopt;
  lines[at].insert(colon, "q");
  return lines;
}
std::optional<Lines> twice(Lines lines, std::size_t at) {
  if (holds_keys(lines, at)) return std::nullopt;
  lines.insert(lines.begin() + static_cast<std::ptrdiff_t>(at), lines[at]);
  return lines;
}
std::optional<Lines> of_form(Lines lines, std::size_t at) {
  if (!holds_keys(lines, at)) return std::nullopt;
  lines = without_keys_of(std::move(lines), at);
  lines[at] += " 5";
  return lines;
}
/// The last key of an entry, two spaces too far to the left.
std::optional<Lines> of_indent(Lines lines, std::size_t at) {
  const bool last = at + 1 == lines.size() || indent_of(lines[at + 1]) < 4;
  if (indent_of(lines[at]) != 4 || !last) return std::nullopt;
  lines[at].erase(0, 2);
  return lines;
}

void each_gives_one(const Change& change) {
  int tried = 0;
  for (const Lines& house : houses()) {
    const std::size_t warnings = load(joined(house)).warnings.size();
    for (std::size_t at = 0; at < house.size(); ++at) {
      const auto changed = change(house, at);
      if (!changed) continue;
      ++tried;
      const std::string text = joined(*changed);
      const Loaded loaded = load(text);
      INFO(house[at] << "\n" << problems(text));
      for (const std::string& warning : loaded.warnings) UNSCOPED_INFO(warning);
      CHECK(loaded.problems.size() == 1);
      CHECK(loaded.warnings.size() <= warnings);
    }
  }
  CHECK(tried > 20);
}

}  // namespace

TEST_CASE("A value of the wrong kind is one mistake") { each_gives_one(of_value); }
TEST_CASE("A mistyped key is one mistake") { each_gives_one(of_key); }
TEST_CASE("A key given twice is one mistake") { each_gives_one(twice); }
TEST_CASE("A section or an entry that holds no keys is one mistake") { each_gives_one(of_form); }
TEST_CASE("A key that is indented too little is one mistake") { each_gives_one(of_indent); }

namespace {

/// The one problem of the text.
std::string only(const std::string& text) {
  const std::string all = problems(text);
  CAPTURE(all);
  REQUIRE(load(text).problems.size() == 1);
  return all;
}

const std::string kBroker = "broker: {url: \"mqtt://127.0.0.1\"}\n";

}  // namespace

TEST_CASE("A sensor that many benches name is missing once") {
  std::string benches;
  for (const char* name : {"a", "b", "c", "d"})
    benches += std::string("  ") + name + ": {sensors: [east-ari]}\n";
  const std::string text = only(house(benches + kBroker + "sensors: {east-air: {topic: a}}\n"));
  CHECK_THAT(text, Contains("house.yaml:8: benches.a.sensors: sensor \"east-ari\" has no topic") &&
                       Contains("(named in 4 places); did you mean east-air?"));
}

TEST_CASE("A name that is no name is wrong where it is given, not where it is used") {
  CHECK_THAT(only(house("  cold end: {sensors: [east-air]}\n"
                        "pumps: {line: {benches: [\"cold end\"]}}\n")),
             Contains("house.yaml:8: benches.\"cold end\": expected a name") &&
                 Contains("write cold-end"));
  CHECK_THAT(only(house("  west: {sensors: [\"west air\"]}\n" + kBroker +
                        "sensors: {east-air: {topic: a}, west air: {topic: b}}\n")),
             Contains("sensors.\"west air\": expected a name") && Contains("write west-air"));
}

TEST_CASE("An entry that several others name is missing once") {
  const std::string recipe =
      "recipes:\n  growth: {label: 15-5-15, injector_ratio: 100, "
      "ec_per_100ppm_n: 0.65, target_ppm_n: 100}\nwaters: {tap: {ec: 0.4}}\n";
  CHECK_THAT(only(house("  west: {sensors: [b]}\n" + recipe +
                        "pumps:\n  p: {benches: [east], recipe: grwth, water: tap}\n"
                        "  q: {benches: [west], recipe: grwth, water: tap}\n")),
             Contains("did you mean growth?"));
  CHECK_THAT(only(house("pump_reports:\n  a: {pump: p, topic: a, litres: /l}\n"
                        "  b: {pump: p, topic: b, litres: /l}\n")),
             Contains("there is no pump \"p\""));
}

TEST_CASE("A copied entry is one mistake") {
  CHECK_THAT(only(house("  west: {sensors: [b]}\npumps:\n  p: {benches: [east, west]}\n"
                        "  q: {benches: [east, west]}\n")),
             Contains("pumps.q.benches: bench east is on pump p already"));
  CHECK_THAT(only(house(kBroker + "sensors:\n  east-air: {topic: a, form: json, temperature: /t, "
                                  "humidity: /h}\n  b: {topic: a, form: json, temperature: /t, "
                                  "humidity: /h}\n")),
             Contains("sensors.b.temperature: the same topic and field"));
}

TEST_CASE("Too strong a recipe is one mistake for all pumps that dose it") {
  CHECK_THAT(
      only(house("  west: {sensors: [b]}\nwaters: {tap: {ec: 0.4}}\nrecipes:\n  growth: {label: "
                 "15-5-15, injector_ratio: 100, ec_per_100ppm_n: 0.65, target_ppm_n: 300}\npumps:\n"
                 "  p: {benches: [east], recipe: growth, water: tap}\n"
                 "  q: {benches: [west], recipe: growth, water: tap}\n")),
      Contains("pumps.p.recipe: full strength of growth in tap is 2.350 mS/cm"));
}

TEST_CASE("Fields without their form are one mistake") {
  CHECK_THAT(
      only(house("sensors: {east-air: {topic: a, temperature: /t, humidity: /h, time: /at}}\n")),
      Contains("sensors.east-air.temperature: a plain number has no fields; say form: json"));
  CHECK_THAT(only(house("sensors: {east-air: {topic: a, form: json}}\n")),
             Contains("expected temperature, humidity or place"));
}

TEST_CASE("One number out of order with several is one mistake") {
  CHECK_THAT(only(house("detection: {fall: 9}\n")), Contains("detection.fall"));
  CHECK_THAT(only(house("feeding: {strongest_reduced_percent: 10}\n")),
             Contains("feeding.strongest_reduced_percent"));
}

TEST_CASE("Where the house stands is missing once") {
  CHECK_THAT(only("benches: {a: {sensors: [b]}}\n"),
             Contains("site: expected latitude and longitude"));
}

TEST_CASE("Indentation, hyphens, tabs and colons") {
  CHECK_THAT(only("site:\n\tlatitude: 52.2\n"),
             Contains("house.yaml:2: this line is indented with a tab") && Contains("spaces"));
  CHECK_THAT(only("site:\n  latitude:52.2\n  longitude: 1\n"),
             Contains("house.yaml:2: there is no space after the colon"));
  CHECK_THAT(only("site:\n  latitude:52.2\nbenches: {a: {sensors: [b]}}\n"),
             Contains("site: expected keys below it; put a space after the colon"));
  CHECK_THAT(only(house("  west\n    sensors: [b]\n")),
             Contains("house.yaml:8: this line has no colon"));
  CHECK_THAT(only(house("  west:\n    sensors: [b\npumps:\n  p: {benches: [east]}\n")),
             Contains("house.yaml:9: a bracket is opened here and not closed"));
  CHECK_THAT(only(house("board:\n  listen: *:8632\n")),
             Contains("house.yaml:9: a value must not begin with *; put it in quotes"));
  CHECK_THAT(only("site: {latitude: 1, longitude: 2}\nbenches:\n  - east\n"),
             Contains("benches: expected named entries below it; leave out the hyphens"));
  CHECK_THAT(only(house("    west:\n      sensors: [b]\npumps: {p: {benches: [west]}}\n")),
             Contains("benches.east.west: unknown key, with keys below it") &&
                 Contains("two spaces less"));
  CHECK_THAT(only("site: {latitude: 1, longitude: 2}\nbenches:\n  east:\n  sensors: [a]\n"),
             Contains("benches.sensors: expected a name here, and this is a key of an entry"));
}

TEST_CASE("A key in another section's place, or by another program's name") {
  CHECK_THAT(only(house("feeding: {latitude: 5}\n")),
             Contains("feeding.latitude: unknown key; it belongs into site"));
  CHECK_THAT(only(house("latitude: 5\n")), Contains("latitude: unknown key; it belongs into site"));
  CHECK_THAT(only("site: {lat: 52.2, longitude: 1}\nbenches: {a: {sensors: [b]}}\n"),
             Contains("did you mean latitude?"));
  CHECK_THAT(only("site: {LATITUDE: 52.2, longitude: 1}\nbenches: {a: {sensors: [b]}}\n"),
             Contains("did you mean latitude?"));
  CHECK_THAT(only(house("broker: {username: a}\n")), Contains("did you mean user?"));
  CHECK_THAT(only(house("placards: 16x2\n")), Contains("write width: 16 and lines: 2"));
}

TEST_CASE("Two mistakes in one entry are two") {
  const auto count = [](const std::string& text) { return load(text).problems.size(); };
  CHECK(count(house("recipes:\n  growth: {label: 15 5 15, injector_ratio: \"1:100\", "
                    "ec_per_100ppm_n: 0.65, target_ppm_n: 100}\n")) == 2);
  CHECK(count(house("sensors:\n  east-air: {topic: a, form: json, temperature: t, unit: F}\n")) ==
        2);
  CHECK(count(house("pumps:\n  p: {benches: [east], recipe: growth, water: tap, "
                    "line_litres: much}\n")) == 3);
  CHECK(count(house("broker: {keep_alive: 30, reply_topics: [\"#\"]}\n")) == 2);
}
