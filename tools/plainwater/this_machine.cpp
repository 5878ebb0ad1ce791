#include "plainwater/this_machine.h"

#include <date/tz.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <stdexcept>

#include "settings/scalar.h"

namespace plainwater::tool {
namespace {

constexpr const char* kZones = "/usr/share/zoneinfo/";

std::string zone_file(const char* name) { return text_of(std::string(kZones) + name); }

}  // namespace

std::string text_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

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

std::string table_of_zones() { return zone_file("zone1970.tab") + zone_file("zone.tab"); }

std::optional<ZonePlace> machine_place_of_zone(const std::string& zone) {
  const std::string table = table_of_zones();
  auto place = place_of_zone(table, zone);
  if (!place) place = place_of_zone(table, zone_behind(zone_file("tzdata.zi"), zone));
  if (place)
    for (double* degrees : {&place->latitude, &place->longitude})
      *degrees = std::round(*degrees * 100) / 100;
  return place;
}

}  // namespace plainwater::tool
