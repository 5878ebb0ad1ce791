#include "plainwater/csv_fields.h"

#include <algorithm>

namespace plainwater::tool {
namespace {

std::string_view trim(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

}  // namespace

bool CsvFields::quoted_field(std::string_view& line, char separator, std::string_view& field) {
  line.remove_prefix(1);
  bool doubled = false;
  std::size_t at = 0;
  for (; at < line.size(); ++at) {
    if (line[at] != '"') continue;
    if (at + 1 >= line.size() || line[at + 1] != '"') break;
    doubled = true;
    ++at;
  }
  if (at >= line.size()) return false;
  field = line.substr(0, at);
  if (doubled) {
    std::string& text = unescaped_.emplace_back();
    for (std::size_t i = 0; i < field.size(); ++i) {
      text += field[i];
      if (field[i] == '"') ++i;
    }
    field = text;
  }
  line.remove_prefix(at + 1);
  while (!line.empty() && line.front() == ' ') line.remove_prefix(1);
  return line.empty() || line.front() == separator;
}

std::optional<std::vector<std::string_view>> CsvFields::split(std::string_view line,
                                                              char separator) {
  unescaped_.clear();
  std::vector<std::string_view> fields;
  while (fields.size() < kMost) {
    std::string_view& field = fields.emplace_back();
    while (!line.empty() && line.front() == ' ') line.remove_prefix(1);
    if (!line.empty() && line.front() == '"') {
      if (!quoted_field(line, separator, field)) return std::nullopt;
    } else {
      const auto end = std::min(line.find(separator), line.size());
      field = trim(line.substr(0, end));
      line.remove_prefix(end);
    }
    if (line.empty()) return fields;
    line.remove_prefix(1);
  }
  return std::nullopt;
}

std::string_view bare_line(std::string_view line, bool first) {
  if (first && line.starts_with("\xEF\xBB\xBF")) line.remove_prefix(3);
  if (line.ends_with('\r')) line.remove_suffix(1);
  return line;
}

bool says_nothing(std::string_view line) {
  const auto at = line.find_first_not_of(" \t");
  return at == std::string_view::npos || line[at] == '#' ||
         line.find_first_not_of(" \t,;") == std::string_view::npos;
}

}  // namespace plainwater::tool
