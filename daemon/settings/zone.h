// The offsets of a time zone as plain data, so that code that prints dates needs no zone library.
#pragma once

#include <string>
#include <vector>

#include "settings/settings.h"

namespace plainwater {

/// Offsets of an IANA zone from 1970 to 2100; empty for UTC and for a zone that this machine does
/// not know.
std::vector<ZoneOffset> zone_offsets(const std::string& zone_name);

}  // namespace plainwater
