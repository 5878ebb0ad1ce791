// What a row of a described file says: its time and its values.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>

#include "common/position.h"
#include "common/quoted.h"
#include "intake/humidity.h"
#include "plainwater/heading_unit.h"
#include "plainwater/mapped_csv.h"
#include "plainwater/readings_csv.h"

namespace plainwater::tool {
namespace {

using Use = CsvColumn::Use;

constexpr Milli kLargest = 1'000'000;  // ±1000 °C or %RH: the most that the service accepts
constexpr int kAny = -1;               // quantity of a line that has all of them

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

}  // namespace

bool MappedCsv::read_time_of(const std::vector<std::string_view>& fields, std::string_view sensor,
                             int quantity, Instant& out) {
  const std::string_view text = time_text(fields);
  const auto refuse = [&](const char* reason, const std::string& what) {
    refused_.add(reason, line_, name_of(*layout_.find(Use::time)), what);
    return false;
  };
  if (order_proven_)
    if (const auto pair = day_pair(text); pair && pair->short_year)
      return refuse("times whose year has two digits, beside years of four",
                    quoted(text) +
                        " has a year of two digits, others of four, so that the order "
                        "of its numbers is not sure; say --times");
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
    case LocalTimes::Fault::forgotten:
      return refuse("times that occur twice, of too many sensors",
                    quoted(text) +
                        " occurs twice, and the file has too many sensors to remember "
                        "what each has passed; see that their column is the right one");
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
    if (column.what.fraction)
      value = to_milli(from_milli(value) * 100);
    else
      dampest_[column.at] = std::max(dampest_[column.at], value);
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

}  // namespace plainwater::tool
