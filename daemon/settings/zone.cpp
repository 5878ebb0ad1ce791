#include "settings/zone.h"

#include <date/tz.h>

#include <stdexcept>

namespace plainwater {

std::vector<ZoneOffset> zone_offsets(const std::string& zone_name) {
  std::vector<ZoneOffset> offsets;
  if (zone_name == "UTC") return offsets;
  try {
    const auto* zone = date::locate_zone(zone_name);
    const auto end = date::sys_days(date::year(2100) / 1 / 1);
    for (date::sys_seconds t = date::sys_days(date::year(1970) / 1 / 1); t < end;) {
      const date::sys_info info = zone->get_info(t);
      offsets.push_back({from_seconds(t.time_since_epoch().count()),
                         static_cast<std::int32_t>(info.offset.count())});
      t = info.end;
    }
  } catch (const std::runtime_error&) {
    offsets.clear();  // the library's word for an unknown zone; `check` and the service name it as
                      // an error
  }
  return offsets;
}

}  // namespace plainwater
