// Numbers with decimal commas, with units, in other units, and angles as maps give them.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "settings/meant.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

enum class Dimension { time, temperature, litres, conductivity, share, other };

struct Measure {
  Dimension kind = Dimension::other;
  double factor = 1;  ///< in units of its kind: min, L, mS/cm, 1; of °F and K: see below
  char scale = 'C';   ///< of a temperature
};

struct NamedMeasure {
  std::string_view name;
  Measure measure;
};

/// A unit as typed or as in the table of keys.
Measure measure_of(std::string_view name) {
  static constexpr NamedMeasure kMeasures[] = {
      {"s", {Dimension::time, 1.0 / 60}},
      {"sec", {Dimension::time, 1.0 / 60}},
      {"seconds", {Dimension::time, 1.0 / 60}},
      {"m", {Dimension::time, 1}},
      {"min", {Dimension::time, 1}},
      {"mins", {Dimension::time, 1}},
      {"minutes", {Dimension::time, 1}},
      {"minute", {Dimension::time, 1}},
      {"h", {Dimension::time, 60}},
      {"hr", {Dimension::time, 60}},
      {"hrs", {Dimension::time, 60}},
      {"hour", {Dimension::time, 60}},
      {"hours", {Dimension::time, 60}},
      {"d", {Dimension::time, 1440}},
      {"day", {Dimension::time, 1440}},
      {"days", {Dimension::time, 1440}},
      {"night", {Dimension::time, 1440}},
      {"nights", {Dimension::time, 1440}},
      {"week", {Dimension::time, 10'080}},
      {"weeks", {Dimension::time, 10'080}},
      {"year", {Dimension::time, 525'600}},
      {"years", {Dimension::time, 525'600}},
      {"c", {Dimension::temperature, 1, 'C'}},
      {"°c", {Dimension::temperature, 1, 'C'}},
      {"celsius", {Dimension::temperature, 1, 'C'}},
      {"f", {Dimension::temperature, 1, 'F'}},
      {"°f", {Dimension::temperature, 1, 'F'}},
      {"fahrenheit", {Dimension::temperature, 1, 'F'}},
      {"k", {Dimension::temperature, 1, 'K'}},
      {"kelvin", {Dimension::temperature, 1, 'K'}},
      {"l", {Dimension::litres, 1}},
      {"liter", {Dimension::litres, 1}},
      {"litre", {Dimension::litres, 1}},
      {"litres", {Dimension::litres, 1}},
      {"liters", {Dimension::litres, 1}},
      {"ml", {Dimension::litres, 0.001}},
      {"cl", {Dimension::litres, 0.01}},
      {"dl", {Dimension::litres, 0.1}},
      {"cc", {Dimension::litres, 0.001}},
      {"m3", {Dimension::litres, 1000}},
      {"ms", {Dimension::conductivity, 1}},
      {"ms/cm", {Dimension::conductivity, 1}},
      {"ds/m", {Dimension::conductivity, 1}},
      {"us", {Dimension::conductivity, 0.001}},
      {"us/cm", {Dimension::conductivity, 0.001}},
      {"share", {Dimension::share, 1}},
      {"probability", {Dimension::share, 1}},
      {"%", {Dimension::share, 0.01}},
      {"percent", {Dimension::share, 0.01}},
      {"%rh", {Dimension::share, 0.01}},
      {"points", {Dimension::share, 0.01}},
  };
  const auto found = std::find_if(std::begin(kMeasures), std::end(kMeasures),
                                  [&](const NamedMeasure& m) { return m.name == name; });
  return found == std::end(kMeasures) ? Measure{} : found->measure;
}

Measure measure_of(const Key& key) {
  if (key.unit == "°C·h" || key.unit.ends_with(" a unit")) return {};
  if (key.unit.empty() && key.range.least >= 0 && key.range.most <= 1)
    return {Dimension::share, 1, 'C'};
  const std::string unit = plain_letters(key.unit);
  return measure_of(std::string_view(unit).substr(0, unit.find(' ')));
}

/// The others in °C are differences.
bool is_level(const Key& key) {
  for (const std::string_view name : {"usual_summer_night", "group_night", "chill_floor",
                                      "indoor_level", "outdoor_level", "lowest", "highest"})
    if (key.name == name) return true;
  return false;
}

double celsius(double value, char scale, bool level) {
  if (scale == 'F') return (value - (level ? 32 : 0)) / 1.8;
  return scale == 'K' && level ? value - 273.15 : value;
}

class Number {
 public:
  Number(const Key& key, bool whole) : key_(key), whole_(whole) {}

  /// "write 0.4"; empty when the key cannot take it.
  std::string write(double value, std::string_view why = {}) const {
    if (!takes(value)) return {};
    return fmt::format("write {}{}", short_decimal(value), why);
  }
  bool takes(double value) const {
    return value >= key_.range.least && value <= key_.range.most &&
           (!whole_ || std::abs(value - std::round(value)) < 1e-9);
  }

  std::string with_unit(double value, std::string_view unit) const {
    if (unit == key_.name || plain_letters(key_.unit).starts_with(unit)) return write(value);
    const Measure given = measure_of(unit), own = measure_of(key_);
    if (given.kind != own.kind || given.kind == Dimension::other) return {};
    if (given.kind == Dimension::temperature)
      return write(celsius(value, given.scale, is_level(key_)));
    return write(value * given.factor / own.factor);
  }

  std::string bare(double value) const {
    const Measure own = measure_of(key_);
    if (takes(value)) return write(value);
    if (own.kind == Dimension::conductivity && value >= 20 && takes(value / 1000))
      return fmt::format(
          "the unit is mS/cm: write {} if {} is in µS/cm{}", short_decimal(value / 1000),
          short_decimal(value),
          value >= 100 && takes(value / 100)
              ? fmt::format(", or {} if the point is missing", short_decimal(value / 100))
              : "");
    if (own.kind == Dimension::share && own.factor == 1 && value > 1)
      return write(value / 100, fmt::format(" for {} %", short_decimal(value)));
    if (own.kind == Dimension::share && own.factor < 1 && value > 0 && value < 1)
      return write(value * 100, fmt::format(" for {} %", short_decimal(value * 100)));
    if (own.kind == Dimension::temperature && is_level(key_) && value > key_.range.most)
      if (const std::string in_celsius = write(std::round(celsius(value, 'F', true) * 10) / 10);
          !in_celsius.empty())
        return fmt::format("the unit is °C: {} if it is in °F", in_celsius);
    if (key_.name == "latitude" && std::abs(value) <= 180)
      return "is it the longitude? north and south end at 90";
    if (key_.name == "offset" && std::abs(value + 273.15) < 1)
      return "leave it out, and say unit: kelvin";
    if (key_.name == "offset" && std::abs(value + 32) < 1)
      return "leave it out, and say unit: fahrenheit";
    if (key_.name == "scale" && value <= 0) return "1 changes nothing, 0.1 is for tenths";
    return {};
  }

 private:
  const Key& key_;
  bool whole_;
};

std::string without_commas(std::string text, bool whole) {
  const auto comma = text.find(',');
  if (comma == std::string::npos || comma == 0 || text.find(',', comma + 1) != std::string::npos)
    return text;
  const auto digits = text.find_first_not_of("0123456789", comma + 1);
  const std::size_t after = (digits == std::string::npos ? text.size() : digits) - comma - 1;
  if (after == 0 || text.find('.') != std::string::npos) return text;
  if (whole && after == 3)
    text.erase(comma, 1);
  else
    text[comma] = '.';
  return text;
}

}  // namespace

std::optional<double> angle_of(std::string_view typed) {
  std::string text = plain_letters(typed);
  double sign = 1;
  constexpr std::string_view kSides = "nsew";
  const auto side = [&](char c) {
    if (kSides.find(c) == std::string_view::npos) return false;
    sign = c == 's' || c == 'w' ? -1 : 1;
    return true;
  };
  if (text.empty()) return std::nullopt;
  if (side(text.back()))
    text.pop_back();
  else if (side(text.front()))
    text.erase(0, 1);
  std::vector<double> parts;
  for (std::size_t at = 0; at < text.size();) {
    const auto begin = text.find_first_of("0123456789.-+", at);
    if (begin == std::string::npos) break;
    const auto end = std::min(text.find_first_not_of("0123456789.", begin + 1), text.size());
    const auto part = read_number(std::string_view(text).substr(begin, end - begin));
    if (!part || (*part < 0 && !parts.empty())) return std::nullopt;
    parts.push_back(*part);
    at = end;
  }
  if (parts.empty() || parts.size() > 3) return std::nullopt;
  if (text.find_first_not_of("0123456789.-+ °'\":") != std::string::npos) return std::nullopt;
  double degrees = 0, unit = 1;
  for (std::size_t i = 0; i < parts.size(); ++i, unit /= 60) {
    if (i > 0 && parts[i] >= 60) return std::nullopt;
    degrees += std::abs(parts[i]) * unit;
  }
  return sign * (text.find('-') != std::string::npos ? -degrees : degrees);
}

std::string meant_size(std::string_view typed) {
  const std::string text = plain_letters(typed);
  const auto by = text.find_first_of("x*");
  if (by == std::string::npos) return {};
  const auto width = read_whole(text.substr(0, by)), lines = read_whole(text.substr(by + 1));
  return width && lines ? fmt::format("write width: {} and lines: {}", *width, *lines) : "";
}

std::string meant_number(const Key& key, bool whole, std::string_view typed) {
  const Number number(key, whole);
  std::string text = without_commas(plain_letters(typed), whole);
  const bool is_angle = key.name == "latitude" || key.name == "longitude";
  if (is_angle && !read_number(text)) {
    const auto angle = angle_of(text);
    const bool across = text.find_first_of("ew") != std::string::npos;
    const bool along = text.find_first_of("ns") != std::string::npos;
    if (!angle) return {};
    if (key.name == "latitude" ? across : along)
      return fmt::format("{} is a {}", typed, key.name == "latitude" ? "longitude" : "latitude");
    return number.write(*angle);
  }
  if (key.section == "placards")
    if (std::string size = meant_size(text); !size.empty()) return size;
  for (const std::string_view about : {"about ", "ca. ", "ca ", "~", "<=", ">=", "<", ">", "="})
    if (text.starts_with(about)) text.erase(0, about.size());
  if (key.name == "injector_ratio" && text.starts_with("1:")) text.erase(0, 2);
  std::erase(text, '_');
  const auto end = std::min(text.find_first_not_of("+-0123456789."), text.size());
  const auto value = read_number(std::string_view(text).substr(0, end));
  if (!value) return {};
  std::string_view rest = std::string_view(text).substr(end);
  rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
  if (rest.empty()) return number.bare(*value);
  if (rest.size() == 3 && rest.front() == ':' && key.unit == "h")
    if (const auto past = read_whole(rest.substr(1)); past && *past < 60)
      return number.write(*value + *past / 60.0);
  if (rest.front() == '/')
    if (const auto below = read_number(rest.substr(1)); below && *below > 0)
      return number.write(*value / *below);
  return number.with_unit(*value, rest);
}

}  // namespace plainwater
