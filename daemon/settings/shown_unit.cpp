#include "settings/shown_unit.h"

#include <fmt/format.h>

#include <cstdlib>
#include <functional>
#include <regex>

namespace plainwater {
namespace {

#define FIGURE "(-?[0-9]+(?:\\.[0-9]+)?)"

/// How our sentences say temperatures (words.cpp in feeding/ and engine/, and those of earlier
/// versions, which ledgers still hold). The pages have the same list in words.js. Each pattern is
/// applied to what those before it have left.
struct Pattern {
  std::regex said;
  const char* becomes;  ///< {0} and {1}: the figures
  bool difference;
};

const std::vector<Pattern>& patterns() {
  static const std::vector<Pattern> all = [] {
    std::vector<Pattern> made;
    const auto add = [&](const char* said, const char* becomes, bool difference) {
      made.push_back({std::regex(said), becomes, difference});
    };
    add(FIGURE " °C under those before", "{0} °F under those before", true);
    add(FIGURE " °C below those before", "{0} °F below those before", true);
    add(FIGURE " °C of the " FIGURE " °C fall", "{0} °F of the {1} °F fall", true);
    add("the " FIGURE " °C fall", "the {0} °F fall", true);
    add("fall of " FIGURE " °C:", "fall of {0} °F:", true);
    add("a fall of " FIGURE " °C only " FIGURE " lasted", "a fall of {0} °F only {1} lasted", true);
    add("\\(" FIGURE " °C of " FIGURE "\\)", "({0} °F of {1})", true);
    add("from " FIGURE " to " FIGURE " °C", "from {0} to {1} °F", false);
    add(FIGURE " °C", "{0} °F", false);
    return made;
  }();
  return all;
}

std::string figure(const std::string& celsius, bool difference) {
  const double value = std::strtod(celsius.c_str(), nullptr);
  return fmt::format("{:.1f}", difference ? value * 1.8 : value * 1.8 + 32.0);
}

std::string replaced(const std::string& text, const Pattern& pattern) {
  std::string out;
  auto from = text.cbegin();
  for (std::sregex_iterator at(text.begin(), text.end(), pattern.said), end; at != end; ++at) {
    const auto& found = *at;
    out.append(from, found[0].first);
    const std::string one = figure(found[1], pattern.difference);
    const std::string two = found.size() > 2 ? figure(found[2], pattern.difference) : "";
    out += fmt::format(fmt::runtime(pattern.becomes), one, two);
    from = found[0].second;
  }
  return out.append(from, text.cend());
}

#undef FIGURE

}  // namespace

const char* symbol_of(ShownUnit unit) { return unit == ShownUnit::fahrenheit ? "°F" : "°C"; }

double shown_degrees(double celsius, ShownUnit unit) {
  return unit == ShownUnit::fahrenheit ? celsius * 1.8 + 32.0 : celsius;
}

std::string in_unit(const std::string& sentence, ShownUnit unit) {
  if (unit == ShownUnit::celsius || sentence.find("°C") == std::string::npos) return sentence;
  std::string shown = sentence;
  for (const auto& pattern : patterns()) shown = replaced(shown, pattern);
  return shown;
}

}  // namespace plainwater
