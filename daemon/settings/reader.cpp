#include "settings/reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "common/json_text.h"
#include "settings/csv_columns.h"
#include "settings/keys.h"
#include "settings/meant.h"
#include "settings/scalar.h"
#include "settings/unknown_key.h"

namespace plainwater {
namespace {

using Kind = YamlNode::Kind;

class Reader {
 public:
  Reader(Draft& draft, std::vector<Problem>& problems) : draft_(draft), problems_(problems) {}

  void read(const YamlNode& root) {
    if (root.kind == Kind::nothing) return;
    if (root.kind != Kind::map)
      return fault(root.line, "", "expected sections such as \"site:\" at the top",
                   "see plainwater check --sample");
    std::set<std::string> seen;
    for (const auto& [key, value] : root.entries) {
      const Section* section = find_section(key.text);
      if (!section) {
        unknown(key, "", nullptr);
      } else if (first(seen, key, key.text)) {
        draft_.lines.emplace(key.text, key.line);
        read_section(*section, value);
      }
    }
    excuse_meant();
  }

 private:
  /// What follows from this mistake is not reported.
  void fault(int line, const std::string& key, std::string what, std::string remedy = {}) {
    draft_.refused.insert(key);
    problems_.push_back({line, key, std::move(what), std::move(remedy)});
  }

  /// `section` is null for a section that is not known.
  void unknown(const YamlNode& key, const std::string& inside, const Section* section) {
    const UnknownKey found = explain_unknown_key(key.text, section);
    fault(key.line, inside + path_part(key.text), "unknown key", found.remedy);
    if (!found.instead.empty()) meant_.push_back(inside + found.instead);
  }

  /// A key that a mistyped one stands for is not missing, unless it is there too.
  void excuse_meant() {
    for (const std::string& path : meant_)
      if (!draft_.lines.contains(path)) draft_.refused.insert(path);
  }

  bool first(std::set<std::string>& seen, const YamlNode& key, const std::string& path) {
    if (seen.insert(key.text).second) return true;
    fault(key.line, path, "given twice", "keep one of the two");
    return false;
  }

  void read_section(const Section& section, const YamlNode& value) {
    if (value.kind == Kind::nothing) return;
    const std::string name(section.name);
    const std::string size = section.name == "placards" ? meant_size(value.text) : "";
    if (value.kind != Kind::map && !size.empty())
      return fault(value.line, name, "expected keys below it", size);
    if (value.kind != Kind::map)
      return fault(
          value.line, name,
          section.entry.empty() ? "expected keys below it" : "expected named entries below it",
          remedy_of_form(value, "indent them by two spaces, each with its value after a colon"));
    if (section.entry.empty())
      return read_keys(section, {.settings = &draft_.settings}, name, value);
    std::set<std::string> seen;
    for (const auto& [key, entry] : value.entries)
      if (first(seen, key, name + "." + path_part(key.text))) read_entry(section, key, entry);
  }

  void read_entry(const Section& section, const YamlNode& key, const YamlNode& value) {
    const std::string path = fmt::format("{}.{}", section.name, path_part(key.text));
    draft_.lines.emplace(path, key.line);
    if (value.kind != Kind::map && value.kind != Kind::nothing) {
      if (!find_key(section, key.text))
        return fault(
            value.line, path, "expected keys below it",
            remedy_of_form(value,
                           "indent them by two spaces more, each with its value after a colon"));
      draft_.refused.insert(std::string(section.name));  // an entry lacks what stands here
      return fault(key.line, path, "expected a name here, and this is a key of an entry",
                   "indent it by two spaces more, under the name that it belongs to");
    }
    Place place{.settings = &draft_.settings};
    if (section.name == "sensors") {
      place.sensor = &draft_.settings.mappings.emplace_back();
      place.sensor->name = key.text;
      place.sensor->line = key.line;
    } else if (section.name == "benches") {
      place.bench = &draft_.benches.emplace_back();
      place.bench->bench.name = key.text;
    } else if (section.name == "waters") {
      place.water = &draft_.settings.waters.emplace_back();
      place.water->name = key.text;
    } else if (section.name == "recipes") {
      place.recipe = &draft_.settings.recipes.emplace_back();
      place.recipe->name = key.text;
    } else if (section.name == "pump_reports") {
      place.report = &draft_.settings.pump_reports.emplace_back();
      place.report->name = key.text;
      place.report->line = key.line;
    } else if (section.name == "people") {
      place.person = &draft_.settings.people.emplace_back();
      place.person->name = key.text;
    } else {
      place.pump = &draft_.pumps.emplace_back();
      place.pump->name = key.text;
    }
    read_keys(section, place, path, value);
  }

  void read_keys(const Section& section, const Place& place, const std::string& path,
                 const YamlNode& map) {
    std::set<std::string> seen;
    for (const auto& [name, value] : map.entries) {
      const Key* key = find_key(section, name.text);
      if (!key && value.kind == Kind::map && !section.entry.empty()) {
        draft_.refused.insert(fmt::format("{}.{}", section.name, path_part(name.text)));
        fault(
            name.line, path + "." + path_part(name.text), "unknown key, with keys below it",
            fmt::format("if it is an entry of {} itself, indent it and its keys by two spaces less",
                        section.name));
        continue;
      }
      if (!key) {
        unknown(name, path + ".", &section);
        continue;
      }
      const std::string full = path + "." + name.text;
      if (!first(seen, name, full)) continue;
      draft_.lines.emplace(full, name.line);
      read_value(*key, key->slot(place), full, name.line, value);
    }
  }

  void read_value(const Key& key, const Slot& slot, const std::string& path, int line,
                  const YamlNode& value) {
    const bool may_be_blank = std::holds_alternative<std::string*>(slot) ||
                              std::holds_alternative<std::optional<double>*>(slot);
    if (value.kind == Kind::nothing && may_be_blank) return;  // a blank value means the default
    if (value.kind != Kind::nothing) line = value.line;
    std::string fault_text;
    if (std::visit([&](const auto& field) { return store(key, field, value, fault_text); }, slot))
      return;
    if (fault_text.empty())
      fault_text = fmt::format("expected {}, found {}", expectation(key), found(key, value));
    std::string remedy = meant(key, slot, value);
    if (remedy.empty() && !key.unit.empty()) remedy = fmt::format("the unit is {}", key.unit);
    fault(line, path, std::move(fault_text), std::move(remedy));
  }

  static std::string found(const Key& key, const YamlNode& value) {
    switch (value.kind) {
      case Kind::nothing: return "nothing";
      case Kind::list:
        return std::holds_alternative<std::vector<std::string>*>(key.slot(Defaults().place()))
                   ? "a list with more than names in it"
                   : "a list";
      case Kind::map: return "keys below it";
      case Kind::scalar: break;
    }
    if (key.section == "broker")
      return "something else";  // it might be a secret in the wrong place
    return (value.quoted ? "the quoted text " : "") + plainwater::quoted(value.text);
  }

  static bool in_range(const Key& key, double value) {
    return value >= key.range.least && value <= key.range.most;
  }

  bool store(const Key& key, double* field, const YamlNode& value, std::string&) const {
    const auto number =
        value.kind == Kind::scalar && !value.quoted ? read_number(value.text) : std::nullopt;
    if (!number || !in_range(key, *number)) return false;
    *field = *number;
    return true;
  }
  bool store(const Key& key, std::optional<double>* field, const YamlNode& value,
             std::string& fault_text) const {
    double number = 0;
    if (!store(key, &number, value, fault_text)) return false;
    *field = number;
    return true;
  }
  bool store(const Key& key, int* field, const YamlNode& value, std::string&) const {
    const auto number =
        value.kind == Kind::scalar && !value.quoted ? read_whole(value.text) : std::nullopt;
    if (!number || !in_range(key, *number)) return false;
    *field = *number;
    return true;
  }
  bool store(const Key&, bool* field, const YamlNode& value, std::string&) const {
    const auto answer =
        value.kind == Kind::scalar && !value.quoted ? read_yes_no(value.text) : std::nullopt;
    if (!answer) return false;
    *field = *answer;
    return true;
  }
  bool store(const Key& key, SecondsSlot field, const YamlNode& value, std::string&) const {
    const auto seconds = value.kind == Kind::scalar ? read_seconds(value.text) : std::nullopt;
    if (!seconds || !in_range(key, *seconds)) return false;
    *field.seconds = *seconds;
    return true;
  }
  bool store(const Key& key, std::string* field, const YamlNode& value,
             std::string& fault_text) const {
    if (value.kind != Kind::scalar) return false;
    if (key.rule == TextRule::level_name && !is_level_name(value.text)) return false;
    if (key.rule == TextRule::time_zone && !is_time_zone(value.text)) return false;
    if (key.rule == TextRule::csv_zone && !value.text.empty() && !is_csv_zone(value.text))
      return false;
    if (key.rule == TextRule::listen_address && !value.text.empty() &&
        !read_listen_address(value.text))
      return false;
    if (key.rule == TextRule::time_of_day && !value.text.empty() && !read_time_of_day(value.text))
      return false;
    if (key.rule == TextRule::hours_of_day && !value.text.empty() && !read_hours_of_day(value.text))
      return false;
    if (key.rule == TextRule::web_address && !value.text.empty() && !is_web_address(value.text))
      return false;
    if (key.rule == TextRule::broker_url && !value.text.empty()) {
      if (const auto wrong = fault_of_broker_url(value.text)) {
        fault_text = fmt::format(
            "not an address of a broker: {}; a right one is mqtt://127.0.0.1:1883", *wrong);
        return false;
      }
    }
    *field = value.text;
    return true;
  }
  bool store(const Key& key, std::vector<std::string>* field, const YamlNode& value,
             std::string&) const {
    if (value.kind == Kind::scalar && !value.text.empty()) {
      if (key.name != "reply_topics" && value.text.find_first_of(" \t") != std::string::npos)
        return false;                // several without brackets
      field->push_back(value.text);  // one alone needs no brackets
      return true;
    }
    if (value.kind != Kind::list) return false;
    for (const YamlNode& item : value.items)
      if (item.kind != Kind::scalar) return false;
    for (const YamlNode& item : value.items) field->push_back(item.text);
    return true;
  }
  template <class Enum>
  bool store(const Key&, Enum* field, const YamlNode& value, std::string&) const {
    return value.kind == Kind::scalar && set_word(Slot(field), value.text);
  }

  Draft& draft_;
  std::vector<Problem>& problems_;
  std::vector<std::string> meant_;  ///< keys that mistyped ones stand for
};

}  // namespace

void read_draft(const YamlNode& root, Draft& draft, std::vector<Problem>& problems) {
  Reader(draft, problems).read(root);
}

std::string path_part(std::string_view key) {
  const bool readable =
      !key.empty() && key.size() <= 64 && std::none_of(key.begin(), key.end(), [](char c) {
        return static_cast<unsigned char>(c) <= 0x20 ||
               std::string_view("\x7f\":.").find(c) != std::string_view::npos;
      });
  return readable ? std::string(key) : quoted(key);
}

std::string quoted(std::string_view text) {
  constexpr std::size_t kLongest = 60;
  if (text.size() <= kLongest) return json_string(text);
  std::size_t cut = kLongest;
  while (cut > 0 && (static_cast<unsigned char>(text[cut]) & 0xc0) == 0x80)
    --cut;  // not within a character
  return json_string(std::string(text.substr(0, cut)) + "…");
}

}  // namespace plainwater
