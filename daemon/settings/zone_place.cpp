#include "settings/zone_place.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "settings/meant.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

/// Calls `action` with each line; ends when it returns true.
template <class Action>
void each_line(std::string_view text, Action action) {
  while (!text.empty()) {
    const auto end = std::min(text.find('\n'), text.size());
    if (action(text.substr(0, end))) return;
    text.remove_prefix(std::min(end + 1, text.size()));
  }
}

std::vector<std::string_view> parts_of(std::string_view line, char between) {
  std::vector<std::string_view> parts;
  while (true) {
    const auto end = line.find(between);
    parts.push_back(line.substr(0, end));
    if (end == std::string_view::npos) return parts;
    line.remove_prefix(end + 1);
  }
}

/// ±DDMM or ±DDMMSS, with `degree_digits` digits of degrees.
std::optional<double> iso_degrees(std::string_view text, std::size_t degree_digits) {
  if (text.size() != degree_digits + 3 && text.size() != degree_digits + 5) return std::nullopt;
  if (text.front() != '+' && text.front() != '-') return std::nullopt;
  if (text.find_first_not_of("0123456789", 1) != std::string_view::npos) return std::nullopt;
  const auto part = [&](std::size_t at, std::size_t size) {
    return at < text.size() ? read_whole(text.substr(at, size)).value_or(0) : 0;
  };
  const double degrees = part(1, degree_digits) + part(1 + degree_digits, 2) / 60.0 +
                         part(3 + degree_digits, 2) / 3600.0;
  return text.front() == '-' ? -degrees : degrees;
}

std::optional<ZonePlace> iso_place(std::string_view text) {
  const auto second = text.find_first_of("+-", 1);
  if (second == std::string_view::npos) return std::nullopt;
  const auto latitude = iso_degrees(text.substr(0, second), 2);
  const auto longitude = iso_degrees(text.substr(second), 3);
  if (!latitude || !longitude) return std::nullopt;
  return ZonePlace{*latitude, *longitude};
}

/// Calls `action` with each zone's name and coordinates.
template <class Action>
void each_zone(std::string_view table, Action action) {
  each_line(table, [&](std::string_view line) {
    const auto parts = parts_of(line, '\t');
    return !line.starts_with('#') && parts.size() >= 3 && action(parts[2], parts[1]);
  });
}

std::string_view last_level(std::string_view zone) { return zone.substr(zone.rfind('/') + 1); }

/// The shorter way round: 179 and -179 are 2 apart.
double apart(double a, double b) { return std::abs(std::remainder(a - b, 360)); }

bool is_far(ZonePlace site, ZonePlace zone) {
  return apart(site.longitude, zone.longitude) > kFarFromZone;
}

bool is_across(ZonePlace site, ZonePlace zone) {
  return site.latitude * zone.latitude < 0 &&
         std::abs(site.latitude - zone.latitude) > kAcrossEquator;
}

bool fits(ZonePlace site, ZonePlace zone) { return !is_far(site, zone) && !is_across(site, zone); }

}  // namespace

std::optional<ZonePlace> place_of_zone(std::string_view table, std::string_view zone) {
  std::optional<ZonePlace> place;
  each_zone(table, [&](std::string_view name, std::string_view coordinates) {
    if (name == zone) place = iso_place(coordinates);
    return name == zone;
  });
  return place;
}

std::string zone_behind(std::string_view tzdata, std::string_view name) {
  std::string zone(name);
  each_line(tzdata, [&](std::string_view line) {
    const auto parts = parts_of(line, ' ');
    if (parts.size() != 3 || parts[0] != "L" || parts[2] != name) return false;
    zone = parts[1];
    return true;
  });
  return zone;
}

std::string meant_zone(std::string_view table, std::string_view typed) {
  std::vector<std::string> zones;
  each_zone(table, [&](std::string_view name, std::string_view) {
    zones.emplace_back(name);
    return false;
  });
  std::string text = plain_letters(typed);
  std::replace_if(text.begin(), text.end(), [](char c) { return c == ' ' || c == '-'; }, '_');
  for (const std::string& zone : zones) {
    const std::string letters = plain_letters(zone);
    if (letters == text || last_level(letters) == last_level(text))
      return fmt::format("did you mean {}?", zone);
  }
  std::string near =
      nearest(typed, zones, [](const std::string& z) -> std::string_view { return z; });
  return near.empty() ? near : fmt::format("did you mean {}?", near);
}

std::optional<WrongPlace> wrong_place(ZonePlace site, ZonePlace zone, std::string_view zone_name) {
  if (fits(site, zone)) return std::nullopt;
  const bool far = is_far(site, zone);
  WrongPlace wrong{far ? "site.longitude" : "site.latitude", "", ""};
  wrong.what =
      far ? fmt::format("{} is {:.0f}° of longitude away from {}", short_decimal(site.longitude),
                        apart(site.longitude, zone.longitude), zone_name)
          : fmt::format("{} is on the other side of the equator from {}",
                        short_decimal(site.latitude), zone_name);
  const bool swapped =
      std::abs(site.longitude) <= 90 && fits({site.longitude, site.latitude}, zone);
  if (fits({site.latitude, -site.longitude}, zone))
    wrong.remedy = fmt::format("did you mean {}? east is positive, west negative",
                               short_decimal(-site.longitude));
  else if (fits({-site.latitude, site.longitude}, zone))
    wrong.remedy = fmt::format("did you mean {}? north is positive, south negative",
                               short_decimal(-site.latitude));
  else if (swapped)
    wrong.remedy = "are latitude and longitude the other way round?";
  else
    wrong.remedy = "correct the place or time_zone";
  return wrong;
}

}  // namespace plainwater
