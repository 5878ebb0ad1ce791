#include "plainwater-sim/weather.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace plainwater::sim {
namespace {

constexpr double kLatitudeDeg = 52.2, kLongitudeDeg = -2.1;
constexpr double kRadian = std::numbers::pi / 180.0;
constexpr std::uint64_t kFronts = 1, kClouds = 2, kPassing = 3, kDamp = 4;

// °C in the middle of each month: mean, and half the usual range between afternoon and dawn.
constexpr std::array<double, 12> kMonthMean = {4.6,  4.8,  6.6,  9.0,  12.2, 15.1,
                                               17.2, 17.0, 14.5, 10.9, 7.2,  5.0};
constexpr std::array<double, 12> kMonthSwing = {2.2, 2.7, 3.7, 4.6, 4.9, 4.8,
                                                4.7, 4.6, 4.4, 3.3, 2.5, 2.1};

double of_month(const std::array<double, 12>& months, double day_of_year) {
  const double position = day_of_year / 30.4375 - 0.5 + 12.0;
  const double whole = std::floor(position);
  const auto month = static_cast<std::size_t>(whole) % 12;
  return std::lerp(months[month], months[(month + 1) % 12], position - whole);
}

/// The story's front: a warm end of August, then from the afternoon of 14 September nights 7 °C
/// cooler for weeks. °C to add; the same every year.
double story_c(const SolarTime& t) {
  constexpr double kWarm_c = 2.0;
  if (t.between(8, 20, 9, 14)) return kWarm_c;
  if (!t.between(9, 14, 11, 10)) return 0;
  constexpr double kFourteenthOfSeptember =
      256;  // day of the year, from 0; a leap year shifts the end by one day only
  const double days = t.day_of_year - kFourteenthOfSeptember + (t.hour - 15.0) / 24.0;
  if (days < 0) return kWarm_c;
  if (days < 0.4) return std::lerp(kWarm_c, -6.0, days / 0.4);
  return days < 18 ? -6.0 : -6.0 * std::exp(-(days - 18) / 8.0);
}

double sine_of_elevation(const SolarTime& t) {
  const double declination =
      23.44 * kRadian * std::sin(2 * std::numbers::pi * (t.day_of_year - 80) / 365.25);
  const double latitude = kLatitudeDeg * kRadian;
  return std::sin(latitude) * std::sin(declination) +
         std::cos(latitude) * std::cos(declination) * std::cos((t.hour - 12) * 15 * kRadian);
}

}  // namespace

bool SolarTime::between(unsigned from_month, unsigned from_day, unsigned end_month,
                        unsigned end_day) const {
  const unsigned now = month * 100 + day_of_month, from = from_month * 100 + from_day,
                 end = end_month * 100 + end_day;
  return from <= end ? now >= from && now < end : now >= from || now < end;
}

SolarTime solar_time(Instant t) {
  const Instant solar = t + seconds(static_cast<std::int64_t>(kLongitudeDeg * 240));
  const auto midnight = std::chrono::floor<std::chrono::days>(solar);
  const std::chrono::year_month_day date(midnight);
  const auto new_year = std::chrono::sys_days(date.year() / std::chrono::January / 1);
  return {.day = midnight.time_since_epoch().count(),
          .hour = hours_of(solar - midnight),
          .month = static_cast<unsigned>(date.month()),
          .day_of_month = static_cast<unsigned>(date.day()),
          .day_of_year = static_cast<double>((midnight - new_year).count())};
}

double Weather::fronts_c(const SolarTime& t) const {
  // A first-order autoregression, cut off after 16 days so that no day depends on where the season
  // began.
  constexpr double kKeep = 0.72, kSpread = 1.25;
  const auto of_day = [&](std::int64_t day) {
    double sum = 0, weight = kSpread;
    for (int back = 0; back < 16; ++back, weight *= kKeep)
      sum += weight * noise_.normal(kFronts, day - back);
    return sum;
  };
  return std::lerp(of_day(t.day), of_day(t.day + 1), t.hour / 24.0);
}

double Weather::passing_c(Instant t) const {
  const std::int64_t seconds_since_1970 = to_seconds(t);
  const std::int64_t hour = seconds_since_1970 / 3600;
  const double part = static_cast<double>(seconds_since_1970 % 3600) / 3600.0;
  return 0.35 * std::lerp(noise_.normal(kPassing, hour), noise_.normal(kPassing, hour + 1), part);
}

double Weather::temperature_c(Instant t) const {
  const SolarTime solar = solar_time(t);
  const double day_of_year = solar.day_of_year + solar.hour / 24.0;
  const double clear = 0.6 + 0.8 * noise_.uniform(kClouds, solar.day);
  const double course = std::cos((solar.hour - 14.5) * 15 * kRadian);
  // A cloudy day warms up less; dawn temperatures follow the month alone, so that midnight has no
  // step.
  const double swing = of_month(kMonthSwing, day_of_year) * course * (course > 0 ? clear : 1.0);
  return of_month(kMonthMean, day_of_year) + swing + fronts_c(solar) + story_c(solar) +
         passing_c(t);
}

double Weather::sunlight(Instant t) const {
  const SolarTime solar = solar_time(t);
  return std::max(0.0, sine_of_elevation(solar)) *
         (0.25 + 0.75 * noise_.uniform(kClouds, solar.day));
}

Air Weather::air(Instant t) const {
  const SolarTime solar = solar_time(t);
  const double damp = 82 - 16 * std::cos((solar.hour - 14.5) * 15 * kRadian) +
                      5 * noise_.normal(kDamp, to_seconds(t) / 10800);
  return {.temperature_c = temperature_c(t), .humidity_rh = std::clamp(damp, 28.0, 99.0)};
}

}  // namespace plainwater::sim
