#include "settings/unknown_key.h"

#include <fmt/format.h>

#include <algorithm>

#include "settings/meant.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

struct OtherName {
  std::string_view typed, key;
};

/// What other programs call it.
constexpr OtherName kOtherNames[] = {
    {"tz", "time_zone"},
    {"lng", "longitude"},
    {"username", "user"},
    {"host", "url"},
    {"server", "url"},
    {"address", "url"},
    {"ca", "certificate_authority"},
    {"cafile", "certificate_authority"},
    {"database", "path"},
    {"file", "path"},
    {"type", "form"},
    {"format", "form"},
    {"rh", "humidity"},
    {"units", "unit"},
    {"bench", "benches"},
    {"sensor", "sensors"},
    {"ratio", "injector_ratio"},
    {"mqtt", "broker"},
    {"location", "site"},
    {"web", "board"},
    {"users", "people"},
    {"persons", "people"},
    {"password_file", "secret_file"},
    {"secret", "secret_file"},
    {"password", "secret_file"},
    {"rights", "role"},
};

template <class List>
UnknownKey among(const std::string& typed, const List& known) {
  const auto has = [&](std::string_view name) {
    return std::any_of(known.begin(), known.end(), [&](const auto& k) { return k.name == name; });
  };
  std::string best = nearest_name(typed, known);
  for (const OtherName& other : kOtherNames)
    if (other.typed == typed && has(other.key)) best = other.key;
  if (has(typed)) best = typed;
  return best.empty() ? UnknownKey{} : UnknownKey{fmt::format("did you mean {}?", best), best};
}

/// The sections that have such a key, "site" or "notices or placards"; empty for none or many.
std::string homes_of(std::string_view key, const Section* but) {
  std::string homes;
  int count = 0;
  for (const Section& section : sections()) {
    if (&section == but || !find_key(section, key)) continue;
    homes += fmt::format("{}{}", count > 0 ? " or " : "",
                         section.entry.empty() ? std::string(section.name)
                                               : fmt::format("an entry of {}", section.name));
    ++count;
  }
  return count <= 2 ? homes : std::string();
}

/// The sign that a value begins with though YAML keeps it for itself; a blank for none.
char sign_of_value(std::string_view line) {
  const auto colon = line.find(": ");
  if (colon == std::string_view::npos) return ' ';
  const auto at = line.find_first_not_of(' ', colon + 1);
  return at != std::string_view::npos && std::string_view("*&@`%").find(line[at]) != line.npos
             ? line[at]
             : ' ';
}

bool is_indented_by_tab(std::string_view line) {
  const auto indent = line.find_first_not_of(" \t");
  return indent != std::string_view::npos && line[indent] != '#' &&
         line.substr(0, indent).find('\t') != std::string_view::npos;
}

bool has_open_bracket(std::string_view line) {
  line = line.substr(0, line.find(" #"));
  return std::count(line.begin(), line.end(), '[') > std::count(line.begin(), line.end(), ']') ||
         std::count(line.begin(), line.end(), '{') > std::count(line.begin(), line.end(), '}');
}

/// "  mist" alone in its line.
bool is_bare_word(std::string_view line) {
  const auto begin = line.find_first_not_of(' ');
  return begin != std::string_view::npos && line[begin] != '-' &&
         line.find_first_not_of(
             "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_- \r", begin) ==
             std::string_view::npos;
}

/// "latitude:52.2" at the beginning of a line.
bool lacks_space(std::string_view line) {
  line.remove_prefix(std::min(line.find_first_not_of(' '), line.size()));
  const auto colon =
      line.find_first_not_of("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-");
  return colon != std::string_view::npos && colon > 0 && line[colon] == ':' &&
         colon + 1 < line.size() && line[colon + 1] != ' ' && line[colon + 1] != '\r' &&
         line[colon + 1] != '\t';
}

}  // namespace

UnknownKey explain_unknown_key(std::string_view typed, const Section* section) {
  std::string text = plain_letters(typed);
  std::replace_if(text.begin(), text.end(), [](char c) { return c == ' ' || c == '-'; }, '_');
  const std::string home = homes_of(text, section);
  UnknownKey found = section ? among(text, section->keys) : among(text, sections());
  // The same word elsewhere is likelier than another word here.
  if (!home.empty() && plain_letters(found.instead) != text &&
      (found.instead.empty() || edit_distance(found.instead, text) > 1))
    return {fmt::format("it belongs into {}", home), {}};
  if (found.instead.empty()) found.remedy = "plainwater check --keys lists the known ones";
  return found;
}

std::string remedy_of_form(const YamlNode& value, const char* otherwise) {
  if (value.kind == YamlNode::Kind::list)
    return "leave out the hyphens, and give every entry its name and a colon";
  if (value.kind == YamlNode::Kind::scalar && lacks_space(value.text))
    return "put a space after the colon";
  return otherwise;
}

BrokenLine explain_broken_yaml(std::string_view text, int fault_line, bool in_brackets) {
  BrokenLine found;
  for (int line = 1; line <= fault_line && !text.empty(); ++line) {
    const std::string_view content = text.substr(0, text.find('\n'));
    text.remove_prefix(std::min(content.size() + 1, text.size()));
    if (is_indented_by_tab(content))
      return {line, "this line is indented with a tab, which YAML does not take",
              "indent with spaces, two for each level"};
    if (in_brackets && has_open_bracket(content))
      found = {line, "a bracket is opened here and not closed", "close it at the end of the line"};
    if (in_brackets || line < fault_line - 1) continue;
    const char sign = line == fault_line ? sign_of_value(content) : ' ';
    if (sign != ' ')
      return {line, fmt::format("a value must not begin with {}", sign), "put it in quotes"};
    if (found.line == 0 && lacks_space(content))
      found = {line, "there is no space after the colon", "put one there, as in latitude: 52.2"};
    if (found.line == 0 && line < fault_line && is_bare_word(content))
      found = {line, "this line has no colon", "put one after the name or key"};
  }
  return found;
}

}  // namespace plainwater
