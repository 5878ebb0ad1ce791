// Prints the table of keys: merged settings, reference, annotated sample.
#include <fmt/format.h>

#include "settings/keys.h"
#include "settings/load.h"
#include "settings/values.h"

namespace plainwater {
namespace {

constexpr std::size_t kWidth = 118;

/// Wraps words at kWidth characters, each line after `prefix`.
std::string wrapped(std::string_view text, const std::string& prefix) {
  std::string out, line;
  while (!text.empty()) {
    const auto space = std::min(text.find(' '), text.size());
    if (!line.empty() && prefix.size() + line.size() + 1 + space > kWidth) {
      out += fmt::format("{}{}\n", prefix, line);
      line.clear();
    }
    if (!line.empty()) line += ' ';
    line += text.substr(0, space);
    text.remove_prefix(std::min(space + 1, text.size()));
  }
  return fmt::format("{}{}{}\n", out, prefix, line);
}

std::string line_of(std::string_view indent, std::string_view name, const std::string& value) {
  return fmt::format("{}{}:{}{}\n", indent, name, value.empty() ? "" : " ", value);
}

std::string describe(const Key& key) {
  const std::string unit = key.unit.empty() ? "" : fmt::format(" ({})", key.unit);
  return expectation(key) + unit;
}

}  // namespace

std::string print_merged(const Settings& settings) {
  const std::vector<Value> values = values_of(settings);
  auto value = values.begin();
  std::string out;
  for (const Section& section : sections()) {
    out += fmt::format("{}:\n", section.name);
    const std::string* entry = nullptr;
    for (; value != values.end() && value->section == section.name; ++value) {
      if (!value->entry.empty() && (entry == nullptr || *entry != value->entry))
        out += fmt::format("  {}:\n", yaml_text(value->entry));
      entry = &value->entry;
      out += line_of(value->entry.empty() ? "  " : "    ", value->key, value->yaml);
    }
  }
  return out;
}

std::string print_keys() {
  Defaults defaults;
  std::string out;
  for (const Section& section : sections()) {
    out += fmt::format("{}{}: {}\n", out.empty() ? "" : "\n", section.name, section.doc);
    for (const Key& key : section.keys) {
      const std::string value = yaml_of(key.slot(defaults.place()));
      out += fmt::format("\n  {}\n", pattern(section, key));
      const std::string otherwise = key.needed      ? "needed"
                                    : value.empty() ? "default none"
                                                    : fmt::format("default {}", value);
      out += wrapped(fmt::format("{}; {}", describe(key), otherwise), "      ");
      out += wrapped(key.doc, "      ");
    }
  }
  return out;
}

std::string print_sample() {
  Defaults defaults;
  std::string out =
      "# Sample settings of plainwater: every key there is, with its meaning, range and default.\n"
      "# A key right behind a # is at its default; take the # away to change it.\n"
      "# Test a file with: plainwater check FILE\n";
  for (const Section& section : sections()) {
    // Each person needs a file that a sample cannot bring: the whole section is a comment.
    const std::string aside = section.name == "people" ? "# " : "";
    out += fmt::format("\n{}{}{}:\n", wrapped(section.doc, "# "), aside, section.name);
    std::string indent = "  ";
    if (!section.entry.empty()) {
      out += fmt::format("{}  {}:\n", aside, section.entry);
      indent = "    ";
    }
    const std::string comment = fmt::format("{}# ", indent);
    for (const Key& key : section.keys) {
      const std::string type = describe(key);
      out += wrapped(type == "text" && !key.needed
                         ? std::string(key.doc)
                         : fmt::format("{} [{}{}]", key.doc, key.needed ? "needed: " : "", type),
                     comment);
      out += key.example.empty() ? line_of(aside.empty() ? indent + "#" : aside + indent, key.name,
                                           yaml_of(key.slot(defaults.place())))
                                 : line_of(aside + indent, key.name, std::string(key.example));
    }
    if (section.name == "sensors")
      out +=
          "  # A family: house/west/air feeds the sensor \"west-air\", house/roof/air the sensor "
          "\"roof-air\".\n"
          "  #\"{1}-air\":\n"
          "  #  topic: house/+/air\n"
          "  #  form: json\n"
          "  #  temperature: /temperature\n";
    if (section.name == "waters")
      out +=
          "  # A blend, here a third of tap water; rain would be a source like tap.\n"
          "  #\"mixed\":\n"
          "  #  blend: [tap, rain]\n"
          "  #  share: 0.33\n";
  }
  return out;
}

}  // namespace plainwater
