#include "climate/sun.h"

#include <libnova/julian_day.h>
#include <libnova/rise_set.h>
#include <libnova/solar.h>

#include <cmath>

namespace plainwater::climate {
namespace {

constexpr double kUnixEpochJd = 2440587.5;
/// Upper limb on the horizon with standard refraction.
constexpr double kHorizonDeg = -0.8333;
/// Near the polar circle a summer night may be shorter than the step between readings, and would go
/// unnoticed.
constexpr Span kShortestNight = hours(2);
constexpr std::size_t kKeptDays = 8;

double julian(Instant t) { return kUnixEpochJd + static_cast<double>(to_ms(t)) / 86'400'000.0; }
/// Makes room: days are looked up in order, so the one farthest from the new one is least needed.
template <class Value>
void drop_farthest(std::map<std::int64_t, Value>& days, std::int64_t day) {
  if (days.size() < kKeptDays) return;
  days.erase(day - days.begin()->first > days.rbegin()->first - day ? days.begin()
                                                                    : std::prev(days.end()));
}

Instant instant(double jd) { return from_seconds(std::llround((jd - kUnixEpochJd) * 86'400.0)); }

}  // namespace

double sine_of_elevation(double latitude_deg, double longitude_deg, Instant t) {
  constexpr double kRadians = 3.14159265358979323846 / 180;
  const double days = julian(t) - 2451545.0;  // since noon on 1 January 2000
  const double anomaly = (357.528 + 0.9856003 * days) * kRadians;
  const double longitude =
      (280.460 + 0.9856474 * days + 1.915 * std::sin(anomaly) + 0.020 * std::sin(2 * anomaly)) *
      kRadians;
  const double obliquity = (23.439 - 0.0000004 * days) * kRadians;
  const double x = std::cos(longitude), y = std::cos(obliquity) * std::sin(longitude),
               z = std::sin(obliquity) * std::sin(longitude);  // z: sine of the declination
  const double sidereal =
      ((18.697374558 + 24.06570982441908 * days) * 15 + longitude_deg) * kRadians;
  const double latitude = latitude_deg * kRadians;
  // x and y turned by the sidereal angle: cosine of the declination times that of the hour angle
  return std::sin(latitude) * z +
         std::cos(latitude) * (x * std::cos(sidereal) + y * std::sin(sidereal));
}

Sun::Sun(double latitude_deg, double longitude_deg)
    : latitude_deg_(latitude_deg), longitude_deg_(longitude_deg) {}

SolarDay Sun::day_of(Instant t) const {
  const auto solar_ms = to_ms(t) + std::llround(longitude_deg_ * 240'000.0);
  return std::chrono::floor<std::chrono::days>(from_ms(solar_ms)).time_since_epoch().count();
}

std::string Sun::date_of(SolarDay day) { return format_date(Instant(kDay * day)); }

Instant Sun::solar_noon(SolarDay day) const {
  return Instant(kDay * day) + hours(12) - milliseconds(std::llround(longitude_deg_ * 240'000.0));
}

const Sun::Day& Sun::utc_day(std::int64_t day) {
  if (const auto found = days_.find(day); found != days_.end()) return found->second;
  ln_lnlat_posn observer{longitude_deg_, latitude_deg_};
  ln_rst_time times{};
  Day result;
  result.polar =
      ln_get_solar_rst_horizon(julian(Instant(kDay * day)), &observer, kHorizonDeg, &times);
  if (result.polar == 0) {
    result.rise = instant(times.rise);
    result.set = instant(times.set);
  }
  drop_farthest(days_, day);
  return days_.emplace(day, result).first->second;
}

SolarNight Sun::night(SolarDay day) {
  const Instant noon = solar_noon(day), next_noon = noon + kDay;
  const auto utc = std::chrono::floor<std::chrono::days>(noon).time_since_epoch().count();
  SolarNight night{kForever, kForever};
  for (auto d = utc - 1; d <= utc + 1; ++d) {
    const Day& times = utc_day(d);
    if (times.polar == 0 && times.set >= noon && times.set < next_noon)
      night.sunset = std::min(night.sunset, times.set);
  }
  for (auto d = utc; d <= utc + 2 && night.sunset != kForever; ++d) {
    const Day& times = utc_day(d);
    // On the last day before a polar night the sun sets and rises within minutes around noon: that
    // is not a night.
    const bool after_midnight =
        times.rise > night.sunset && times.rise >= noon + hours(11) && times.rise <= next_noon;
    if (times.polar == 0 && after_midnight) night.sunrise = std::min(night.sunrise, times.rise);
  }
  if (night.sunset == kForever || night.sunrise == kForever)
    return {noon + hours(6), noon + hours(18)};
  if (night.sunrise - night.sunset < kShortestNight) {
    const Instant middle =
        from_seconds(to_seconds(night.sunset + (night.sunrise - night.sunset) / 2));
    return {middle - kShortestNight / 2, middle + kShortestNight / 2};
  }
  return night;
}

double Sun::day_length_h(SolarDay day) {
  const Instant noon = solar_noon(day);
  const auto utc = std::chrono::floor<std::chrono::days>(noon).time_since_epoch().count();
  Instant rise = kNever, set = kForever;
  for (auto d = utc - 1; d <= utc + 1; ++d) {
    const Day& times = utc_day(d);
    if (times.polar != 0) {
      if (d == utc) return times.polar > 0 ? 24 : 0;
      continue;
    }
    if (times.rise <= noon && times.rise > noon - hours(12)) rise = std::max(rise, times.rise);
    if (times.set >= noon && times.set < noon + hours(12)) set = std::min(set, times.set);
  }
  // A single missing edge happens on the first and last days of a polar season.
  if (rise == kNever) rise = noon - hours(12);
  if (set == kForever) set = noon + hours(12);
  return hours_of(set - rise);
}

double Sun::declination_deg(SolarDay day) {
  if (const auto found = declinations_deg_.find(day); found != declinations_deg_.end())
    return found->second;
  ln_equ_posn position{};
  ln_get_solar_equ_coords(julian(solar_noon(day)), &position);
  drop_farthest(declinations_deg_, day);
  return declinations_deg_.emplace(day, position.dec).first->second;
}

bool Sun::days_shorten(SolarDay day) {
  const bool declination_falls = declination_deg(day + 1) < declination_deg(day);
  return latitude_deg_ >= 0 ? declination_falls : !declination_falls;
}

bool Sun::long_day_half(SolarDay day) {
  const double declination = declination_deg(day);
  return latitude_deg_ >= 0 ? declination >= 0 : declination <= 0;
}

bool Sun::tropical() const { return std::abs(latitude_deg_) <= 23.0; }

}  // namespace plainwater::climate
