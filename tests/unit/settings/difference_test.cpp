#include "settings/difference.h"

#include <catch2/catch.hpp>

#include "settings/load.h"

using namespace plainwater;

namespace {

constexpr const char* kTernBank = R"(
site: {name: tern-bank, latitude: 52.2, longitude: -2.1, time_zone: Europe/London}
sensors:
  mist-a: {topic: air/mist, form: number, quantity: temperature}
benches:
  mist: {group: intermediate, sensors: [mist-a]}
  courtyard: {group: cool, sensors: [mist-a]}
)";

std::vector<std::string> told(const std::string& after) {
  const auto then = load_settings_text(kTernBank, "then"), now = load_settings_text(after, "now");
  REQUIRE(then.settings);
  REQUIRE(now.settings);
  std::vector<std::string> lines;
  for (const Change& change : difference(*then.settings, *now.settings))
    lines.push_back(message(change));
  return lines;
}

std::string with(const std::string& from, const std::string& to) {
  std::string text = kTernBank;
  return text.replace(text.find(from), from.size(), to);
}

}  // namespace

TEST_CASE("a file written otherwise, or with its defaults, differs in nothing") {
  CHECK(told(std::string("# a remark\n") + kTernBank + "store: {durability: power}\n").empty());
}

TEST_CASE("each key that differs is told with both values") {
  CHECK(told(with("group: intermediate", "group: warm")) ==
        std::vector<std::string>{"benches.mist.group: warm, was intermediate"});
}

TEST_CASE("a bench under another name is one that is new and one that is gone") {
  CHECK(told(with("courtyard: {", "porch: {was: courtyard, ")) ==
        std::vector<std::string>{"benches.porch: new, was courtyard", "benches.courtyard: gone"});
}

TEST_CASE("what cannot change while the service runs is named") {
  const auto then = load_settings_text(kTernBank, "then").settings;
  CHECK(needs_restart(*then,
                      *load_settings_text(with("latitude: 52.2", "latitude: 52.4"), "now").settings)
            .empty());
  CHECK(needs_restart(*then, *load_settings_text(with("tern-bank", "other"), "now").settings) ==
        "site.name");
}
