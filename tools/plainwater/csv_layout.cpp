#include "plainwater/csv_layout.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <optional>

#include "common/quoted.h"
#include "plainwater/csv_fields.h"
#include "plainwater/heading_unit.h"

namespace plainwater::tool {
namespace {

using Use = CsvColumn::Use;
using Names = std::vector<std::string>;

constexpr std::size_t kMostTold = 30;  // names of columns in a message

std::vector<char> separators(CsvSeparator stated) {
  switch (stated) {
    case CsvSeparator::comma: return {','};
    case CsvSeparator::semicolon: return {';'};
    case CsvSeparator::tab: return {'\t'};
    case CsvSeparator::guess: break;
  }
  return {';', '\t', ','};
}

Names names_in(const std::string& line, char separator) {
  CsvFields fields;
  const auto found = fields.split(line, separator);
  return found ? Names(found->begin(), found->end()) : Names();
}

std::optional<std::size_t> number_of(std::string_view text) {
  std::size_t number = 0;
  const auto end = std::from_chars(text.data(), text.data() + text.size(), number);
  if (end.ec != std::errc() || end.ptr != text.data() + text.size() || number == 0 ||
      number > CsvFields::kMost)
    return std::nullopt;
  return number;
}

/// Takes the unit that a heading states, where the column is of temperatures.
std::optional<Error> take_unit(CsvColumn& column, std::optional<Unit> unit, std::string_view text) {
  if (!unit || (column.use != Use::temperature && column.use != Use::value)) return std::nullopt;
  if (column.unit && *column.unit != *unit)
    return Error{
        fmt::format("column {} is said to be in {}, and its heading {} says {}",
                    quoted(column.column), symbol_of(*column.unit), quoted(text), symbol_of(*unit)),
        "", "state the unit that is true, and mend the heading if it is not"};
  column.unit = unit;
  return std::nullopt;
}

/// Where the columns stand in a line of names; none when one is not there.
std::optional<std::vector<CsvLayout::Column>> placed(std::span<const CsvColumn> columns,
                                                     const Names& names) {
  std::vector<CsvLayout::Column> found;
  bool named = false;
  for (const CsvColumn& column : columns) {
    const auto at = std::ranges::find(names, column.column);
    std::size_t index = static_cast<std::size_t>(at - names.begin());
    if (at == names.end()) {
      const auto number = number_of(column.column);
      if (!number || *number > names.size()) return std::nullopt;
      index = *number - 1;
    }
    named = named || at != names.end();
    found.push_back({column, index});
  }
  return named ? std::optional(found) : std::nullopt;
}

/// Columns that are called as in our own files, or like sensors; empty when they are not enough.
std::vector<CsvColumn> called_so(const Names& names, const KnowsSensor& knows) {
  std::vector<CsvColumn> own, wide;
  for (const std::string& name : names) {
    for (const auto& [use, ours] :
         {std::pair(Use::time, "time"), std::pair(Use::sensor, "sensor"),
          std::pair(Use::temperature, "temperature_c"),
          std::pair(Use::humidity, "humidity_percent"), std::pair(Use::place, "place")})
      if (name == ours) own.push_back({use, "", std::nullopt, false, name});
    const auto column = read_csv_column(name + "=" + name);
    if (column && (column->use == Use::time || knows(column->sensor))) wide.push_back(*column);
  }
  if (!fault_of(own)) return own;
  return fault_of(wide) ? std::vector<CsvColumn>() : wide;
}

/// Lines under the header that name units and the like: they have no digit.
std::size_t header_end(std::span<const std::string> lines, std::size_t from) {
  while (from < lines.size() && (says_nothing(lines[from]) ||
                                 lines[from].find_first_of("0123456789") == std::string::npos))
    ++from;
  return from;
}

/// A row has a time: three digits at least, as "5:31" has.
bool has_time(const CsvLayout& layout, const Names& names) {
  const auto* time = layout.find(Use::time);
  if (time == nullptr || time->at >= names.size()) return false;
  return std::ranges::count_if(names[time->at], [](char c) { return c >= '0' && c <= '9'; }) > 2;
}

/// Takes the units that are stated above the first row, by the header or by a line under it.
/// `header`: the line of names, if there is one.
std::optional<Error> take_units(CsvLayout& layout, std::span<const std::string> lines,
                                std::optional<std::size_t> header) {
  for (std::size_t i = header.value_or(0); i < lines.size(); ++i) {
    if (says_nothing(lines[i])) continue;
    const Names names = names_in(lines[i], layout.separator);
    if (i != header && has_time(layout, names)) break;
    for (auto& column : layout.columns) {
      if (column.at >= names.size()) continue;
      const std::string& text = names[column.at];
      auto unit = unit_in_heading(text);
      if (!unit && i != header) unit = unit_alone(text);
      if (auto wrong = take_unit(column.what, unit, text)) return wrong;
    }
  }
  return std::nullopt;
}

/// The line that looks most like a header: the first with the most fields.
std::string columns_told(std::span<const std::string> lines, CsvSeparator stated) {
  Names most;
  for (const std::string& line : lines.first(std::min<std::size_t>(lines.size(), 8)))
    for (const char separator : separators(stated))
      if (!says_nothing(line))
        if (Names names = names_in(line, separator); names.size() > most.size())
          most = std::move(names);
  std::string told;
  for (std::size_t i = 0; i < std::min(most.size(), kMostTold); ++i)
    told += (i == 0 ? "" : ", ") + quoted(most[i]);
  if (most.size() > kMostTold) told += fmt::format(" and {} more", most.size() - kMostTold);
  return told;
}

Result<std::vector<CsvColumn>> stated_columns(const CsvForm& form) {
  std::vector<CsvColumn> columns;
  for (const std::string& text : form.columns) {
    auto column = read_csv_column(text);
    if (!column) return column.error();
    columns.push_back(std::move(*column));
  }
  if (const auto wrong = fault_of(columns); wrong && !columns.empty()) return *wrong;
  return columns;
}

bool all_numbers(std::span<const CsvColumn> columns) {
  return std::ranges::all_of(columns,
                             [](const CsvColumn& c) { return number_of(c.column).has_value(); });
}

/// A file without names: the separator is the one that gives enough fields.
std::optional<CsvLayout> by_numbers(std::span<const std::string> lines,
                                    std::span<const CsvColumn> columns, CsvSeparator stated) {
  std::size_t needed = 0;
  for (const CsvColumn& c : columns) needed = std::max(needed, *number_of(c.column));
  for (const std::string& line : lines)
    for (const char separator : separators(stated)) {
      if (says_nothing(line) || names_in(line, separator).size() < needed) continue;
      CsvLayout layout;
      layout.separator = separator;
      for (const CsvColumn& c : columns) layout.columns.push_back({c, *number_of(c.column) - 1});
      layout.header = header_end(lines, 0);
      return layout;
    }
  return std::nullopt;
}

/// Rows of a file without names that have more fields than are named, between guessed commas: some
/// of these may be decimal marks.
std::optional<Error> doubtful_commas(const CsvLayout& layout, std::span<const std::string> lines,
                                     const CsvForm& form) {
  if (form.separator != CsvSeparator::guess || layout.separator != ',') return std::nullopt;
  std::size_t needed = 0, header = 0;
  for (const auto& column : layout.columns) needed = std::max(needed, column.at + 1);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (says_nothing(lines[i])) continue;
    Names names = names_in(lines[i], ',');
    while (names.size() > needed && names.back().empty()) names.pop_back();
    if (!has_time(layout, names)) {
      header = names.size();
    } else if (names.size() > needed && names.size() != header) {
      return Error{fmt::format("line {} has {} fields between commas, and the last column named is "
                               "{}: a comma may be a decimal mark",
                               i + 1, names.size(), needed),
                   "",
                   "say --separator comma if every comma parts two fields; if not, save the file "
                   "with semicolons and say --decimal comma"};
    }
  }
  return std::nullopt;
}

std::string wanted(std::span<const CsvColumn> columns) {
  std::string text;
  for (const CsvColumn& c : columns) text += (text.empty() ? "" : ", ") + quoted(c.column);
  return text;
}

}  // namespace

const CsvLayout::Column* CsvLayout::find(Use use) const {
  const auto found = std::ranges::find_if(
      columns, [&](const Column& c) { return c.what.use == use && c.what.sensor.empty(); });
  return found == columns.end() ? nullptr : &*found;
}

bool CsvLayout::wide() const { return find(Use::sensor) == nullptr; }

Result<CsvLayout> csv_layout(std::span<const std::string> lines, const CsvForm& form,
                             const KnowsSensor& knows) {
  const auto stated = stated_columns(form);
  if (!stated) return stated.error();
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (says_nothing(lines[i])) continue;
    for (const char separator : separators(form.separator)) {
      const Names names = names_in(lines[i], separator);
      const auto columns = stated->empty() ? called_so(names, knows) : *stated;
      if (columns.empty()) continue;
      auto found = placed(columns, names);
      if (!found) continue;
      CsvLayout layout{separator, std::move(*found), 0, names.size()};
      layout.header = header_end(lines, i + 1);
      if (auto wrong = take_units(layout, lines, i)) return *wrong;
      return layout;
    }
  }
  if (!stated->empty() && all_numbers(*stated))
    if (auto layout = by_numbers(lines, *stated, form.separator)) {
      if (auto wrong = doubtful_commas(*layout, lines, form)) return *wrong;
      if (auto wrong = take_units(*layout, lines, std::nullopt)) return *wrong;
      return *layout;
    }
  const std::string has = columns_told(lines, form.separator);
  const std::string ends = has.empty() ? "" : "; the file has " + has;
  if (stated->empty())
    return Error{"no column \"time\" beside columns of readings in the header" + ends, "",
                 "say what they hold: --columns time=COLUMN,SENSOR=COLUMN or "
                 "--columns time=COLUMN,sensor=COLUMN,temperature=COLUMN"};
  return Error{"no line has all of the columns " + wanted(*stated) + ends, "",
               "name columns as the header does, or by their numbers from 1"};
}

}  // namespace plainwater::tool
