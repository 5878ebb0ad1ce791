// Where this machine seems to be: its time zone, and the place that the zone's own table gives.
#pragma once

#include <optional>
#include <string>

namespace plainwater::tool {

/// "Europe/London"; empty: the machine does not say, or says only UTC.
std::string machine_time_zone();

struct Place {
  double latitude = 0, longitude = 0;  ///< degrees, north and east positive
};
/// Of the zone's town, by zone.tab of the time zone data; none where that is not installed.
std::optional<Place> place_of_zone(const std::string& zone);

}  // namespace plainwater::tool
