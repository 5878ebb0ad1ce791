#include "plainwater/mapped_csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "common/position.h"
#include "common/quoted.h"
#include "intake/humidity.h"
#include "plainwater/day_order.h"
#include "plainwater/heading_unit.h"
#include "plainwater/readings_csv.h"

namespace plainwater::tool {
namespace {

using Use = CsvColumn::Use;

constexpr std::size_t kHeadLines = 64;     // of which the header must be one
constexpr Milli kLargest = 1'000'000;      // ±1000 °C or %RH: the most that the service accepts
constexpr std::uint64_t kLookedAt = 2000;  // lines that show whether times name their zone

constexpr int kAny = -1;  // quantity of a line that has all of them

bool is_missing(std::string_view text) {
  static constexpr std::array<std::string_view, 9> kWords = {"",   "-",   "--",   "---", "nan",
                                                             "na", "n/a", "null", "none"};
  if (text.size() > 4) return false;
  std::string low(text);
  for (char& c : low)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c | 0x20);
  return std::ranges::find(kWords, low) != kWords.end();
}

struct Named {
  Quantity quantity;
  std::optional<Unit> unit{};  ///< where the word states it
};

std::optional<Named> quantity_of(std::string_view word) {
  std::string low;
  for (const char c : word.substr(0, 24))
    if (c != ' ') low += c >= 'A' && c <= 'Z' ? static_cast<char>(c | 0x20) : c;
  for (const char* known : {"temperature", "temp", "t"})
    if (low == known) return Named{Quantity::temperature};
  for (const char* known : {"humidity", "hum", "rh", "%rh", "%", "percent", "relativehumidity"})
    if (low == known) return Named{Quantity::humidity};
  if (low == "place" || low == "position") return Named{Quantity::place};
  if (const auto unit = unit_alone(low)) return Named{Quantity::temperature, unit};
  // "Temperature (°F)", "temp_f"; not "soil temperature (°F)"
  const auto unit = unit_in_heading(word);
  if (unit && (low.starts_with("temp") || low.starts_with("t(") || low.starts_with("t[")))
    return Named{Quantity::temperature, unit};
  return std::nullopt;
}

Quantity measured(Use use) {
  if (use == Use::humidity) return Quantity::humidity;
  return use == Use::place ? Quantity::place : Quantity::temperature;
}

Milli celsius(Milli value, std::optional<Unit> unit) {
  if (unit == Unit::fahrenheit) return to_milli((from_milli(value) - 32.0) / 1.8);
  if (unit == Unit::kelvin) return value - 273'150;
  return value;
}

/// The first lines, bare; an error when the file is empty or no text.
Result<std::vector<std::string>> head_of(TextLines& lines, const std::string& path) {
  std::vector<std::string> head;
  std::string_view line;
  while (head.size() < kHeadLines && lines.next(line)) {
    if (head.empty() && (line.starts_with("\xFF\xFE") || line.starts_with("\xFE\xFF")))
      return Error{"this is UTF-16 text", path, "save it as CSV in UTF-8"};
    head.emplace_back(bare_line(line, head.empty()));
  }
  if (head.empty()) return Error{kNothingInIt, path, "name a file with a header and readings"};
  return head;
}

}  // namespace

MappedCsv::MappedCsv(TextLines lines, CsvLayout layout, const CsvForm& form, LocalTimes local)
    : lines_(std::make_unique<TextLines>(std::move(lines))),
      layout_(std::move(layout)),
      times_(form.times),
      local_(std::move(local)) {
  commas_ = form.decimal == DecimalMark::comma ||
            (form.decimal == DecimalMark::guess && layout_.separator != ',');
  points_ = form.decimal != DecimalMark::comma;
  for (const auto& column : layout_.columns) needed_ = std::max(needed_, column.at + 1);
}

Result<MappedCsv> MappedCsv::open(const std::string& path, const CsvForm& form, const Site& site,
                                  const KnowsSensor& knows) {
  std::optional<ZoneTimes> zone;
  if (!form.zone.empty()) {
    auto found = ZoneTimes::of(form.zone, site);
    if (!found) return found.error();
    zone = std::move(*found);
  }
  auto lines = TextLines::open(path);
  if (!lines) return lines.error();
  if (!lines->can_go_back())
    return Error{"this is no file that can be read twice", path, "save it as a file first"};
  const auto head = head_of(*lines, path);
  if (!head) return head.error();
  auto layout = csv_layout(*head, form, knows);
  if (!layout) return Error{layout.error().what, path, layout.error().remedy};
  MappedCsv csv(std::move(*lines), std::move(*layout), form, LocalTimes(zone));
  csv.rewind();
  if (const auto done = csv.look_at_times(form); !done)
    return Error{done.error().what, path, done.error().remedy};
  csv.rewind();
  return csv;
}

void MappedCsv::rewind() {
  lines_->seek(0, 1);
  std::string_view line;
  for (std::size_t i = 0; i < layout_.header && lines_->next(line); ++i) {}
  refused_ = {};
}

bool MappedCsv::next_fields(std::vector<std::string_view>& fields) {
  std::string_view line;
  while (lines_->next(line)) {
    line_ = lines_->line();
    line = bare_line(line, line_ == 1);
    if (says_nothing(line)) continue;
    auto found = fields_.split(line, layout_.separator);
    if (!found) {
      refused_.add("lines with an open quote", line_, "", "a quote is not closed");
      continue;
    }
    while (layout_.fields > 0 && found->size() > layout_.fields && found->back().empty())
      found->pop_back();
    if (found->size() < needed_ || (layout_.fields > 0 && found->size() > layout_.fields)) {
      refused_.add("lines with another number of fields", line_, "",
                   fmt::format("it has {} fields, and {} are expected", found->size(),
                               std::max(needed_, layout_.fields)));
      continue;
    }
    fields = std::move(*found);
    return true;
  }
  return false;
}

std::string_view MappedCsv::time_text(const std::vector<std::string_view>& fields) {
  const std::string_view time = fields[layout_.find(Use::time)->at];
  const auto* date = layout_.find(Use::date);
  if (date == nullptr) return time;
  joined_.assign(fields[date->at]);
  joined_ += ' ';
  joined_ += time;
  return joined_;
}

Status MappedCsv::look_at_times(const CsvForm& form) {
  DayOrder order;
  std::vector<std::string_view> fields;
  std::uint64_t looked = 0, digits = 0;  // digits: a line that may be a date or seconds
  bool seconds_proven = false;
  while (next_fields(fields)) {
    const std::string_view text = time_text(fields);
    const auto pair = form.times == CsvTimes::guess ? day_pair(text) : std::nullopt;
    if (pair) order.take(*pair, line_);
    if (form.times == CsvTimes::guess && text.size() == 10 && !seconds_proven) {
      if (!may_be_digits_of_date(text))
        seconds_proven = read_time(text, CsvTimes::unix).has_value();
      else if (digits == 0)
        digits = line_;
    }
    const auto written = read_time(text, pair ? CsvTimes::day_first : form.times);
    const bool naked = written && !written->instant && !written->offset_s;
    if (naked && form.zone.empty())
      return Error{fmt::format("line {}: the time {} names no zone", line_, quoted(text)), "",
                   "say whose time it is: --zone Europe/London, --zone site for the site's, or "
                   "--zone +01:00 for a clock that never changes"};
    if (++looked >= kLookedAt && !order.needed()) break;
  }
  if (!lines_->read_error().empty())
    return Error{lines_->read_error(), "", "mend or replace the file"};
  if (digits != 0 && !seconds_proven)
    return Error{fmt::format("whether ten digits are a date or seconds since 1970 cannot be told "
                             "from this file (see line {})",
                             digits),
                 "", "say --times unix if they are seconds; write dates as 2025-09-20 07:00"};
  if (!order.needed()) return Done{};
  const auto found = order.order();
  if (!found) return found.error();
  times_ = *found;
  return Done{};
}

std::string MappedCsv::name_of(const CsvLayout::Column& column) const {
  return quoted(column.what.column);
}

bool MappedCsv::read_time_of(const std::vector<std::string_view>& fields, std::string_view sensor,
                             int quantity, Instant& out) {
  const std::string_view text = time_text(fields);
  const auto refuse = [&](const char* reason, const std::string& what) {
    refused_.add(reason, line_, name_of(*layout_.find(Use::time)), what);
    return false;
  };
  auto written = read_time(text, times_);
  // Dates with the year first are clear whatever the order of the others.
  if (!written && (times_ == CsvTimes::day_first || times_ == CsvTimes::month_first))
    written = read_time(text, CsvTimes::year_first);
  if (!written)
    return refuse("times that cannot be read", "the time cannot be read: " + quoted(text));
  switch (local_.resolve(*written, sensor, quantity, out)) {
    case LocalTimes::Fault::none: return true;
    case LocalTimes::Fault::no_zone:
      return refuse("times without a zone", quoted(text) + " names no zone; say --zone");
    case LocalTimes::Fault::never: break;
  }
  return refuse("times that never occur",
                quoted(text) +
                    " never occurs, as the clocks go forward then; for a clock that does not "
                    "change, give its offset: --zone +01:00");
}

bool MappedCsv::read_number(std::string_view text, Milli& out) {
  const bool comma = text.find(',') != std::string_view::npos;
  const bool point = text.find('.') != std::string_view::npos;
  if ((comma && (point || !commas_)) || (point && !points_)) return false;
  if (text.starts_with('+')) text.remove_prefix(1);
  number_.assign(text);
  std::ranges::replace(number_, ',', '.');
  return parse_milli(number_, out) && out >= -kLargest && out <= kLargest;
}

void MappedCsv::read_value(const CsvLayout::Column& column, const Measured& kind,
                           std::string_view sensor, std::string_view text, CsvLine& line) {
  const Quantity quantity = kind.quantity;
  if (is_missing(text)) return;
  const auto refuse = [&](const char* reason, const std::string& what) {
    refused_.add(reason, line_, name_of(column), what);
  };
  Milli value = 0;
  if (quantity == Quantity::place) {
    const auto place = position_of(text);
    if (!place)
      return refuse("places that are neither indoors nor outdoors",
                    "the place is neither indoors nor outdoors: " + quoted(text));
    value = milli_of(*place);
  } else if (!read_number(text, value)) {
    const bool comma = text.find(',') != std::string_view::npos && !commas_;
    return refuse("values that are no numbers",
                  "not a number, or beyond reason: " + quoted(text) +
                      (comma ? "; if its comma is the decimal mark, say --decimal comma" : ""));
  } else if (quantity == Quantity::humidity) {
    if (column.what.fraction) value = to_milli(from_milli(value) * 100);
    value = intake::within_tolerance(value);
  } else {
    value = celsius(value, kind.unit);
  }
  line.values.push_back({sensor, quantity, value});
}

void MappedCsv::read_wide(const std::vector<std::string_view>& fields, CsvLine& line) {
  if (!read_time_of(fields, "", kAny, line.time)) return;
  for (const auto& column : layout_.columns)
    if (!column.what.sensor.empty())
      read_value(column, {measured(column.what.use), column.what.unit}, column.what.sensor,
                 fields[column.at], line);
}

void MappedCsv::read_long(const std::vector<std::string_view>& fields, CsvLine& line) {
  const auto& of_sensor = *layout_.find(Use::sensor);
  const std::string_view sensor = fields[of_sensor.at];
  if (sensor.empty())
    return refused_.add("lines that name no sensor", line_, name_of(of_sensor),
                        "no sensor is named");
  const auto* says = layout_.find(Use::quantity);
  const auto named = says != nullptr ? quantity_of(fields[says->at]) : std::nullopt;
  if (!read_time_of(fields, sensor, named ? static_cast<int>(named->quantity) : kAny, line.time))
    return;
  for (const auto& column : layout_.columns) {
    if (column.what.use < Use::value) continue;
    Quantity quantity = measured(column.what.use);
    std::optional<Unit> unit = column.what.unit;
    if (says != nullptr) {
      if (!named)
        return refused_.add("other quantities than temperature, humidity and place", line_,
                            name_of(*says),
                            "neither temperature, humidity nor place: " + quoted(fields[says->at]));
      quantity = named->quantity;
      if (named->unit && unit && *named->unit != *unit)
        return refused_.add(
            "rows whose unit is another than the column's", line_, name_of(*says),
            fmt::format("{} says {}, and column {} is in {}", quoted(fields[says->at]),
                        symbol_of(*named->unit), name_of(column), symbol_of(*unit)));
      if (named->unit) unit = named->unit;
    }
    read_value(column, {quantity, unit}, sensor, fields[column.at], line);
  }
}

Status MappedCsv::fault() const {
  if (!lines_->read_error().empty())
    return Error{lines_->read_error(), "", "mend or replace the file"};
  if (local_.twice() > 0 && local_.falling())
    return Error{
        fmt::format("its lines go from new to old, and {} of their local times occur twice "
                    "as the clocks went back: which is meant cannot be told",
                    local_.twice()),
        "", "turn the order of its lines round, so that the oldest comes first"};
  return Done{};
}

bool MappedCsv::next(CsvLine& line) {
  std::vector<std::string_view> fields;
  while (next_fields(fields)) {
    line.line = line_;
    line.values.clear();
    if (layout_.wide())
      read_wide(fields, line);
    else
      read_long(fields, line);
    if (!line.values.empty()) return true;
  }
  return false;
}

}  // namespace plainwater::tool
