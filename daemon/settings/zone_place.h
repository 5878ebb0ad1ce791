// Does a site lie where its time zone does? From the tables of the zone database as text: this
// file reads none.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace plainwater {

/// Degrees, north and east positive, of the place that a zone is named after.
struct ZonePlace {
  double latitude = 0, longitude = 0;
};

/// From the text of zone1970.tab or zone.tab (or both): lines of countries, ISO 6709 coordinates
/// and zone, parted by tabs. None for a zone that is not in it, such as UTC.
std::optional<ZonePlace> place_of_zone(std::string_view table, std::string_view zone);
/// The zone that an older name stands for, from the text of tzdata.zi (lines "L ZONE NAME"); the
/// name itself when it stands for none.
std::string zone_behind(std::string_view tzdata, std::string_view name);
/// What to do about a zone that is not known: "did you mean Europe/London?"; empty: no idea.
std::string meant_zone(std::string_view table, std::string_view typed);

inline constexpr double kFarFromZone = 45;    ///< ° of longitude; zones are 15 wide, the widest 60
inline constexpr double kAcrossEquator = 15;  ///< ° of latitude

struct WrongPlace {
  std::string key;  ///< "site.latitude" or "site.longitude"
  std::string what, remedy;
};
/// None when the site may be in the zone. It may not where it is more than kFarFromZone of
/// longitude away, the shorter way round; or on the other side of the equator and more than
/// kAcrossEquator of latitude away.
std::optional<WrongPlace> wrong_place(ZonePlace site, ZonePlace zone, std::string_view zone_name);

}  // namespace plainwater
