#include "settings/csv_columns.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>
#include <tuple>
#include <utility>

#include "common/quoted.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

using Use = CsvColumn::Use;

constexpr std::array<std::pair<std::string_view, Use>, 8> kUses = {{
    {"time", Use::time},
    {"date", Use::date},
    {"sensor", Use::sensor},
    {"quantity", Use::quantity},
    {"value", Use::value},
    {"temperature", Use::temperature},
    {"humidity", Use::humidity},
    {"place", Use::place},
}};

std::optional<Use> use_of(std::string_view word) {
  const auto found = std::ranges::find(kUses, word, &std::pair<std::string_view, Use>::first);
  return found == kUses.end() ? std::nullopt : std::optional(found->second);
}

bool measures(Use use) { return use >= Use::value; }

/// Takes ".word" off the end.
bool take_off(std::string_view& text, std::string_view word) {
  if (text.size() <= word.size() + 1 || !text.ends_with(word) ||
      text[text.size() - word.size() - 1] != '.')
    return false;
  text.remove_suffix(word.size() + 1);
  return true;
}

struct Units {
  std::optional<Unit> degrees;
  bool percent = false, fraction = false;
};

Units take_units(std::string_view& what) {
  Units units;
  for (bool more = true; more;) {
    more = true;
    if (take_off(what, "celsius"))
      units.degrees = Unit::celsius;
    else if (take_off(what, "fahrenheit"))
      units.degrees = Unit::fahrenheit;
    else if (take_off(what, "kelvin"))
      units.degrees = Unit::kelvin;
    else if (take_off(what, "percent"))
      units.percent = true;
    else if (take_off(what, "fraction"))
      units.fraction = true;
    else
      more = false;
  }
  return units;
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

const char* name_of(Use use) {
  return std::ranges::find(kUses, use, &std::pair<std::string_view, Use>::second)->first.data();
}

std::string what_of(const CsvColumn& column) {
  if (column.sensor.empty()) return name_of(column.use);
  return column.use == Use::temperature ? column.sensor
                                        : fmt::format("{}.{}", column.sensor, name_of(column.use));
}

}  // namespace

Result<CsvColumn> read_csv_column(std::string_view text) {
  const auto equals = text.find('=');
  const auto fault = [&](std::string what) {
    return Error{fmt::format("{}: {}", quoted(text, 60), what), "",
                 "write WHAT=COLUMN, such as time=Date or SENSOR=T1 or SENSOR.humidity=RH1"};
  };
  if (equals == std::string_view::npos) return fault("it has no =");
  CsvColumn made;
  made.column = trimmed(text.substr(equals + 1));
  std::string_view what = trimmed(text.substr(0, equals));
  if (made.column.empty()) return fault("no column is named after the =");
  const Units units = take_units(what);
  if (const auto use = use_of(what)) {
    made.use = *use;
  } else {
    made.use = Use::temperature;
    for (const Use measure : {Use::temperature, Use::humidity, Use::place})
      if (take_off(what, name_of(measure))) {
        made.use = measure;
        break;
      }
    if (!is_level_name(what)) return fault("no sensor can have this name");
    made.sensor = what;
  }
  const bool warm = made.use == Use::temperature || made.use == Use::value;
  const bool damp = made.use == Use::humidity || made.use == Use::value;
  if (units.degrees && !warm) return fault("this unit is one of temperatures");
  if ((units.percent || units.fraction) && !damp) return fault("this unit is one of humidities");
  if (units.percent && units.fraction) return fault("it is either percent or a fraction");
  made.unit = units.degrees;
  made.fraction = units.fraction;
  return made;
}

std::optional<Error> fault_of(std::span<const CsvColumn> columns) {
  const auto fault = [](std::string what, const char* remedy) {
    return Error{std::move(what), "", remedy};
  };
  std::set<std::pair<Use, std::string>> seen;
  for (const CsvColumn& column : columns)
    if (!seen.emplace(column.use, column.sensor).second)
      return fault(fmt::format("{} is named twice", what_of(column)), "keep one of the two");
  const auto has = [&](Use use) { return seen.contains({use, std::string()}); };
  if (!has(Use::time)) return fault("no column of times is named", "add time=COLUMN");
  const bool wide =
      std::ranges::any_of(columns, [](const CsvColumn& c) { return !c.sensor.empty(); });
  const bool of_row = std::ranges::any_of(
      columns, [](const CsvColumn& c) { return c.sensor.empty() && measures(c.use); });
  if (wide && (has(Use::sensor) || of_row || has(Use::quantity)))
    return fault("some columns are of one sensor, and others of the row's",
                 "name either sensor=COLUMN with temperature, humidity or value, or a column for "
                 "each sensor");
  if (wide) return std::nullopt;
  if (!of_row)
    return fault("no column of readings is named",
                 "add SENSOR=COLUMN for each sensor, or sensor=COLUMN and temperature=COLUMN");
  if (!has(Use::sensor))
    return fault("no column says whose the readings are",
                 "add sensor=COLUMN, or say SENSOR=COLUMN in place of temperature=COLUMN");
  if (has(Use::quantity) && !has(Use::value))
    return fault("quantity is named without value", "add value=COLUMN");
  if (has(Use::value) && (has(Use::temperature) || has(Use::humidity) || has(Use::place)))
    return fault("value is named beside temperature, humidity or place",
                 "name the one column, or the others");
  return std::nullopt;
}

std::optional<int> read_utc_offset(std::string_view text) {
  if (text.size() != 6 || (text[0] != '+' && text[0] != '-') || text[3] != ':') return std::nullopt;
  for (const std::size_t at : {1U, 2U, 4U, 5U})
    if (text[at] < '0' || text[at] > '9') return std::nullopt;
  const int whole_h = (text[1] - '0') * 10 + text[2] - '0';
  const int more_min = (text[4] - '0') * 10 + text[5] - '0';
  if (whole_h > 14 || more_min > 59) return std::nullopt;
  const int offset_s = (whole_h * 60 + more_min) * 60;
  return text[0] == '-' ? -offset_s : offset_s;
}

bool is_csv_zone(std::string_view text) {
  return text == "site" || read_utc_offset(text) || is_time_zone(text);
}

}  // namespace plainwater
