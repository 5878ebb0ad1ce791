#include "plainwater/this_machine.h"

#include <date/tz.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "settings/scalar.h"

namespace plainwater::tool {
namespace {

/// "+513030" or "+5130": degrees, minutes, perhaps seconds; `digits` of the degrees.
std::optional<double> degrees_of(const std::string& text, std::size_t digits) {
  if (text.size() < digits + 3 || text.find_first_not_of("0123456789", 1) != std::string::npos)
    return std::nullopt;
  const auto part = [&](std::size_t at, std::size_t length) {
    return at + length <= text.size() ? std::stod(text.substr(at, length)) : 0.0;
  };
  const double size = part(1, digits) + part(digits + 1, 2) / 60 + part(digits + 3, 2) / 3600;
  return std::round((text.front() == '-' ? -size : size) * 100) / 100;
}

}  // namespace

std::string machine_time_zone() {
  std::string name;
  if (const char* given = std::getenv("TZ"); given != nullptr && *given != '\0')
    name = *given == ':' ? given + 1 : given;
  else
    try {
      name = date::current_zone()->name();
    } catch (const std::runtime_error&) { return {}; }
  if (!is_time_zone(name) || name == "UTC" || name.starts_with("Etc/")) return {};
  try {
    date::locate_zone(name);
    return name;
  } catch (const std::runtime_error&) { return {}; }
}

std::optional<Place> place_of_zone(const std::string& zone) {
  for (const char* table : {"/usr/share/zoneinfo/zone.tab", "/usr/share/zoneinfo/zone1970.tab"}) {
    std::ifstream file(table);
    for (std::string line; std::getline(file, line);) {
      if (line.starts_with('#')) continue;
      std::istringstream columns(line);
      std::string country, place, name;
      columns >> country >> place >> name;
      const auto second = place.find_first_of("+-", 1);
      if (name != zone || second == std::string::npos) continue;
      const auto latitude = degrees_of(place.substr(0, second), 2);
      const auto longitude = degrees_of(place.substr(second), 3);
      if (latitude && longitude) return Place{*latitude, *longitude};
    }
  }
  return std::nullopt;
}

}  // namespace plainwater::tool
