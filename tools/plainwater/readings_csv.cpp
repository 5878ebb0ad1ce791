#include "plainwater/readings_csv.h"

#include <array>
#include <charconv>
#include <cmath>

#include "common/position.h"
#include "common/quoted.h"
#include "intake/humidity.h"

namespace plainwater::tool {
namespace {

constexpr std::size_t kMostColumns = 64;

std::string_view unquoted(std::string_view field) {
  while (!field.empty() && (field.back() == ' ' || field.back() == '\r')) field.remove_suffix(1);
  while (!field.empty() && field.front() == ' ') field.remove_prefix(1);
  if (field.size() >= 2 && field.front() == '"' && field.back() == '"')
    return field.substr(1, field.size() - 2);
  return field;
}

/// Splits at commas; the number of fields, or 0 when there are too many.
std::size_t split(std::string_view line, std::array<std::string_view, kMostColumns>& fields) {
  std::size_t n = 0;
  while (n < fields.size()) {
    const std::size_t comma = line.find(',');
    fields[n++] = unquoted(line.substr(0, comma));
    if (comma == std::string_view::npos) return n;
    line.remove_prefix(comma + 1);
  }
  return 0;
}

}  // namespace

bool parse_milli(std::string_view text, Milli& out) {
  // Fast path for the usual form, digits with at most four decimals, without floating point.
  std::int64_t value = 0;
  std::size_t i = 0;
  const bool negative = !text.empty() && text[0] == '-';
  if (negative) i = 1;
  const std::size_t first = i;
  for (; i < text.size() && text[i] >= '0' && text[i] <= '9' && i < 8; ++i)
    value = value * 10 + (text[i] - '0');
  const bool some = i > first;
  int places = 0;
  if (some && i < text.size() && text[i] == '.') {
    for (++i; i < text.size() && text[i] >= '0' && text[i] <= '9' && places < 4; ++i, ++places)
      value = value * 10 + (text[i] - '0');
  }
  if (some && i == text.size() && places <= 4) {
    for (; places < 3; ++places) value *= 10;
    if (places == 4) value = (value + 5) / 10;
    if (value > 2'000'000'000) return false;
    out = static_cast<Milli>(negative ? -value : value);
    return true;
  }
  double real = 0;
  const auto end = std::from_chars(text.data(), text.data() + text.size(), real);
  if (end.ec != std::errc() || end.ptr != text.data() + text.size() || !std::isfinite(real) ||
      std::abs(real) > 2e6)
    return false;
  out = to_milli(real);
  return true;
}

Result<ReadingsCsv> ReadingsCsv::open(const std::string& path, BadRow bad_row) {
  auto lines = TextLines::open(path);
  if (!lines) return lines.error();
  ReadingsCsv csv(std::move(*lines), std::move(bad_row));
  std::string_view header;
  if (!csv.lines_.next(header))
    return Error{kNothingInIt, path,
                 "the first line must be time,sensor,temperature_c,humidity_percent, with place "
                 "where there are contacts"};
  if (const char* missing = csv.columns_.find(header))
    return Error{std::string("no column \"") + missing + "\" in the header", path + ":1",
                 "the header names time, sensor, temperature_c and, if there are any, "
                 "humidity_percent and place"};
  return csv;
}

const char* ReadingsCsv::Columns::find(std::string_view header) {
  if (header.starts_with("\xEF\xBB\xBF")) header.remove_prefix(3);
  std::array<std::string_view, kMostColumns> names;
  count = static_cast<int>(split(header, names));
  for (int i = 0; i < count; ++i) {
    const std::string_view name = names[static_cast<std::size_t>(i)];
    if (name == "time") time = i;
    if (name == "sensor") sensor = i;
    if (name == "temperature_c") temperature = i;
    if (name == "humidity_percent") humidity = i;
    if (name == "place") place = i;
  }
  return time < 0 ? "time" : sensor < 0 ? "sensor" : temperature < 0 ? "temperature_c" : nullptr;
}

bool is_readings_header(std::string_view line) {
  return ReadingsCsv::Columns().find(line) == nullptr;
}

bool ReadingsCsv::parse(std::string_view line, CsvRow& row, std::string& why) const {
  std::array<std::string_view, kMostColumns> fields;
  if (static_cast<int>(split(line, fields)) != columns_.count) {
    why = "expected " + std::to_string(columns_.count) + " fields";
    return false;
  }
  const auto field = [&](int at) {
    return at < 0 ? std::string_view() : fields[static_cast<std::size_t>(at)];
  };
  if (!parse_rfc3339_into(field(columns_.time), row.time)) {
    why = "time is not RFC 3339: " + quoted(field(columns_.time));
    return false;
  }
  row.sensor = field(columns_.sensor);
  if (row.sensor.empty()) {
    why = "no sensor named";
    return false;
  }
  row.temperature = row.humidity = kMissing;
  for (const auto& [at, value, name] :
       {std::tuple(columns_.temperature, &row.temperature, "temperature_c"),
        std::tuple(columns_.humidity, &row.humidity, "humidity_percent")}) {
    const std::string_view text = field(at);
    if (text.empty() || parse_milli(text, *value)) continue;
    why = std::string(name) + " is not a number: " + quoted(text);
    return false;
  }
  // As the service treats it.
  if (row.humidity != kMissing) row.humidity = intake::within_tolerance(row.humidity);
  row.place = kMissing;
  if (const std::string_view text = field(columns_.place); !text.empty()) {
    const auto place = position_of(text);
    if (!place) {
      why = "place is neither indoors nor outdoors: " + quoted(text);
      return false;
    }
    row.place = milli_of(*place);
  }
  return true;
}

bool ReadingsCsv::next(CsvRow& row) {
  std::string_view line;
  std::string why;
  while (true) {
    row.offset = lines_.offset();
    if (!lines_.next(line)) return false;
    row.line = lines_.line();
    if (line.empty() || line == "\r") continue;
    if (parse(line, row, why)) return true;
    bad_row_(row.line, why);
  }
}

}  // namespace plainwater::tool
