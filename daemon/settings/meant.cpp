#include "settings/meant.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "settings/scalar.h"

namespace plainwater {
namespace {

using Kind = YamlNode::Kind;

bool of_names(const Slot& slot) { return std::holds_alternative<std::vector<std::string>*>(slot); }

/// "[one, two]" from what was written in another way.
std::string names_in_brackets(const YamlNode& value) {
  std::vector<std::string> names;
  if (value.kind == Kind::map)
    for (const YamlEntry& entry : value.entries) names.push_back(entry.key.text);
  if (value.kind == Kind::scalar) {
    constexpr const char* kBetween = " ,;\t\n";
    std::string_view rest = value.text;
    while (!rest.empty()) {
      const auto begin = rest.find_first_not_of(kBetween);
      if (begin == std::string_view::npos) break;
      rest.remove_prefix(begin);
      const auto end = std::min(rest.find_first_of(kBetween), rest.size());
      names.emplace_back(rest.substr(0, end));
      rest.remove_prefix(end);
    }
  }
  const bool are_names = !names.empty() && names.size() <= 20 &&
                         std::all_of(names.begin(), names.end(), is_level_name);
  return are_names ? fmt::format("write [{}]", fmt::join(names, ", ")) : std::string();
}

std::string of_list(const Key& key, const YamlNode& value) {
  const bool plain = !value.items.empty() &&
                     std::all_of(value.items.begin(), value.items.end(),
                                 [](const YamlNode& item) { return item.kind == Kind::scalar; });
  if (!plain) return {};
  if (key.rule == TextRule::hours_of_day && value.items.size() == 2)
    return meant_hours_of_day(value.items[0].text + "-" + value.items[1].text);
  return value.items.size() == 1
             ? fmt::format("write {} without brackets", yaml_text(value.items[0].text))
             : "write one, without brackets";
}

std::string of_scalar(const Key& key, const Slot& slot, const YamlNode& value) {
  if (std::holds_alternative<SecondsSlot>(slot)) return meant_seconds(key, value.text);
  if (std::holds_alternative<std::string*>(slot)) return meant_text(key.rule, value.text);
  if (of_names(slot)) return names_in_brackets(value);
  if (std::holds_alternative<bool*>(slot)) {
    const std::string answer = meant_yes_no(value.text);
    if (answer.empty()) return {};
    return fmt::format("write {}{}", answer, value.quoted ? " without quotes" : "");
  }
  if (const auto words = words_of(slot); !words.empty()) {
    const std::string word = meant_word(slot, value.text);
    return word.empty() ? word : fmt::format("did you mean {}?", word);
  }
  const bool whole = std::holds_alternative<int*>(slot);
  const auto number = read_number(value.text);
  if (value.quoted && number && *number >= key.range.least && *number <= key.range.most &&
      (!whole || read_whole(value.text)))
    return fmt::format("write {} without quotes", value.text);
  return meant_number(key, whole, value.text);
}

}  // namespace

std::string meant(const Key& key, const Slot& slot, const YamlNode& value) {
  if (value.text.size() > 64) return {};  // no slip of the finger
  if (key.section == "broker") {
    Defaults defaults;
    if (std::holds_alternative<SecondsSlot>(slot))
      return fmt::format("write a whole number with its unit, such as {}",
                         yaml_of(key.slot(defaults.place())));
    return value.kind == Kind::list && !of_names(slot) ? "write one, without brackets" : "";
  }
  switch (value.kind) {
    case Kind::nothing: return "give one, or leave the line out";
    case Kind::map: return of_names(slot) ? names_in_brackets(value) : "";
    case Kind::list: return of_names(slot) ? "" : of_list(key, value);
    case Kind::scalar: return of_scalar(key, slot, value);
  }
  return {};
}

std::string plain_letters(std::string_view typed) {
  struct Sign {
    std::string_view from, to;
  };
  static constexpr Sign kSigns[] = {
      {"µ", "u"}, {"μ", "u"}, {"–", "-"},  {"—", "-"},  {"−", "-"},      {"‑", "-"},     {"º", "°"},
      {"’", "'"}, {"′", "'"}, {"″", "\""}, {"”", "\""}, {"\u00a0", " "}, {"\u202f", " "}};
  std::string out;
  while (!typed.empty()) {
    const auto sign = std::find_if(std::begin(kSigns), std::end(kSigns),
                                   [&](const Sign& s) { return typed.starts_with(s.from); });
    if (sign != std::end(kSigns)) {
      out += sign->to;
      typed.remove_prefix(sign->from.size());
      continue;
    }
    const char c = typed.front();
    out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    typed.remove_prefix(1);
  }
  const auto begin = out.find_first_not_of(" \t"), end = out.find_last_not_of(" \t");
  return begin == std::string::npos ? std::string() : out.substr(begin, end - begin + 1);
}

std::string short_decimal(double value) { return decimal(std::round(value * 1e4) / 1e4); }

}  // namespace plainwater
