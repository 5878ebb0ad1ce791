#include "plainwater/heading_unit.h"

#include <array>
#include <string>
#include <utility>

#include "listen/names.h"

namespace plainwater::tool {
namespace {

constexpr std::array<std::pair<std::string_view, Unit>, 6> kSigns = {{
    {"°F", Unit::fahrenheit},
    {"ºF", Unit::fahrenheit},
    {"℉", Unit::fahrenheit},
    {"°C", Unit::celsius},
    {"ºC", Unit::celsius},
    {"℃", Unit::celsius},
}};

std::optional<Unit> in_brackets(std::string_view heading) {
  for (std::size_t at = 0; (at = heading.find_first_of("([", at)) != std::string_view::npos; ++at) {
    const auto end = heading.find_first_of(")]", at);
    if (end == std::string_view::npos) break;
    if (const auto unit = unit_alone(heading.substr(at + 1, end - at - 1))) return unit;
  }
  return std::nullopt;
}

/// Whether the letter stands for itself: "temp_f", not "Temp F2".
bool stands_alone(std::string_view heading, char low) {
  const auto joined = [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
  };
  for (std::size_t i = 0; i < heading.size(); ++i)
    if ((heading[i] | 0x20) == low && (i + 1 == heading.size() || !joined(heading[i + 1])))
      return true;
  return false;
}

}  // namespace

std::optional<Unit> unit_alone(std::string_view field) {
  while (!field.empty() && (field.front() == ' ' || field.front() == '[' || field.front() == '('))
    field.remove_prefix(1);
  while (!field.empty() && (field.back() == ' ' || field.back() == ']' || field.back() == ')'))
    field.remove_suffix(1);
  return listen::read_unit(field).temperature;
}

std::optional<Unit> unit_in_heading(std::string_view heading) {
  if (const auto unit = in_brackets(heading)) return unit;
  for (const auto& [sign, unit] : kSigns)
    if (heading.find(sign) != std::string_view::npos) return unit;
  const auto words = listen::words_of(heading);
  for (std::size_t i = 0; i < words.size(); ++i) {
    const auto unit = listen::unit_in_name({words[i]});
    if (!unit) continue;
    if (words[i].size() > 2) return unit;  // "tc" and "tf" may be names
    const std::string& before = i == 0 ? words[i] : words[i - 1];
    if (i > 0 && stands_alone(heading, words[i][0]) &&
        (before == "t" || before == "deg" || before == "degrees" ||
         listen::meaning_of({before}) == listen::Meaning::temperature))
      return unit;
  }
  return std::nullopt;
}

const char* symbol_of(Unit unit) {
  return unit == Unit::fahrenheit ? "°F" : unit == Unit::kelvin ? "K" : "°C";
}

}  // namespace plainwater::tool
