// Where this machine seems to be: its time zone, and the place that the zone's own table gives.
#pragma once

#include <optional>
#include <string>

#include "settings/zone_place.h"

namespace plainwater::tool {

/// Empty for a file that cannot be read.
std::string text_of(const std::string& path);
/// "Europe/London"; empty: the machine does not say, or says only UTC.
std::string machine_time_zone();

/// The zones of this machine's time zone data with their places, for settings/zone_place.h; empty
/// where the data are not installed.
std::string table_of_zones();
/// The place that the zone, or the one that it is an older name of, is named after; hundredths of a
/// degree.
std::optional<ZonePlace> machine_place_of_zone(const std::string& zone);

}  // namespace plainwater::tool
