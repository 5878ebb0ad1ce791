// Sunset, sunrise and day length at a site, by libnova, in whole seconds. Days are the site's own
// *solar days*, counted from mean solar midnight, so that time zones and their changes never affect
// a decision.
#pragma once

#include <cstdint>
#include <map>

#include "common/instant.h"

namespace plainwater::climate {

/// Days since 1970-01-01 in the site's mean solar time.
using SolarDay = std::int64_t;

struct SolarNight {
  Instant sunset{};   ///< the evening of the solar day
  Instant sunrise{};  ///< the next morning
};

/// The sine of the sun's elevation at `t`, -1..1, for degrees north and east; within 0.001 (0.05°)
/// between 1950 and 2050, refraction left out; libnova's own is off by up to half a degree.
/// Source: The Astronomical Almanac, "Low precision formulas for the Sun's coordinates" (section
/// C).
double sine_of_elevation(double latitude_deg, double longitude_deg, Instant t);

class Sun {
 public:
  /// Degrees, north and east positive.
  Sun(double latitude_deg, double longitude_deg);

  SolarDay day_of(Instant t) const;
  /// "2026-09-14", the date of a solar day.
  static std::string date_of(SolarDay day);
  /// The night that begins on the evening of `day`. At least 2 h, around its middle; where the sun
  /// does not set or rise, 12 h around solar midnight.
  SolarNight night(SolarDay day);
  /// Hours of sun on `day`: 0 in the polar night, 24 in the polar day.
  double day_length_h(SolarDay day);
  /// True when the days are growing shorter at `day`: the cooling half-year. North: from the June
  /// solstice to the December one.
  bool days_shorten(SolarDay day);
  /// True within 23° of the equator, where day length says nothing.
  bool tropical() const;
  /// True in the half-year whose days are longer than 12 h, judged by the sun's declination.
  bool long_day_half(SolarDay day);

 private:
  struct Day {
    int polar = 0;  ///< 1: the sun stays up, -1: stays down
    Instant rise{}, set{};
  };
  const Day& utc_day(std::int64_t day);
  Instant solar_noon(SolarDay day) const;
  double declination_deg(SolarDay day);  ///< at solar noon

  double latitude_deg_, longitude_deg_;
  std::map<std::int64_t, Day> days_;  ///< a few UTC days, since computing one takes 0.1 ms
  std::map<SolarDay, double> declinations_deg_;  ///< likewise
};

}  // namespace plainwater::climate
