#include "plainwater-sim/house.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace plainwater::sim {

/// One heated compartment under glass.
struct House::Glass {
  double set_point_c;  ///< what the heating aims at; far below any weather: no heating
  double shelter_c;    ///< how much warmer than outdoors it is without heating or sun
  double droop;        ///< share of the missing warmth that the heating fails to supply, 0..1
  double sun_gain_c;   ///< °C in full sunlight
  double humidity_rh;  ///< usual, at night
};

namespace {

constexpr double kNoHeating = -100;
constexpr double kVentsOpen_c = 27;  ///< above this most of the warmth is let out

bool heating_failed(const SolarTime& t) {
  return (t.between(1, 12, 1, 13) && t.hour >= 17) || t.between(1, 13, 1, 14) ||
         (t.between(1, 14, 1, 15) && t.hour < 8);
}

/// The swing of the thermostat, in °C.
double thermostat_c(Instant t) {
  return 0.25 * std::sin(2 * std::numbers::pi * static_cast<double>(to_seconds(t) % 2220) / 2220.0);
}

}  // namespace

Air House::behind_glass(const Glass& glass, Instant t) const {
  // Glass, benches and wet floors lag about two hours behind the weather.
  const double unheated = weather_.temperature_c(t - hours(2)) + glass.shelter_c;
  double temperature = unheated;
  if (unheated < glass.set_point_c)
    temperature =
        glass.set_point_c - glass.droop * (glass.set_point_c - unheated) + thermostat_c(t);
  temperature += glass.sun_gain_c * weather_.sunlight(t - minutes(40));
  if (temperature > kVentsOpen_c) temperature = kVentsOpen_c + 0.3 * (temperature - kVentsOpen_c);
  const double humidity =
      glass.humidity_rh - 1.6 * std::max(0.0, temperature - std::max(glass.set_point_c, unheated));
  return {.temperature_c = temperature, .humidity_rh = std::clamp(humidity, 35.0, 98.0)};
}

Air House::parlour(Instant t) const {
  const SolarTime solar = solar_time(t);
  // Heating lit at seven, banked at ten in the evening; walls and air follow slowly.
  const double since_lit = solar.hour - 7,
               since_banked = solar.hour >= 22 ? solar.hour - 22 : solar.hour + 2;
  const double fire = since_lit >= 0 && solar.hour < 22 ? 2.5 * (1 - std::exp(-since_lit / 0.7))
                                                        : 2.5 * std::exp(-since_banked / 1.5);
  const double unheated = weather_.temperature_c(t - hours(6)) + 3.0;
  const double temperature = std::max(16.5 + fire + thermostat_c(t), unheated);
  return {.temperature_c = temperature,
          .humidity_rh = 48 + 8 * std::cos((solar.hour - 5) * std::numbers::pi / 12)};
}

bool House::rolled_out(Instant t) const {
  const SolarTime solar = solar_time(t);
  const bool by_day = solar.hour >= 10 && solar.hour < 18;
  const auto on = [&](unsigned month, unsigned day) {
    return solar.month == month && solar.day_of_month == day;
  };
  if (solar.between(6, 1, 9, 4))
    return !(on(6, 1) && solar.hour < 10) && !(on(9, 3) && solar.hour >= 18);
  if (solar.between(11, 1, 5, 10)) return false;
  // Out at ten if that morning is warm enough, in at six.
  const Instant ten = t - Span(static_cast<std::int64_t>((solar.hour - 10) * 3'600'000));
  return by_day && weather_.temperature_c(ten) >= 11;
}

Air House::courtyard_place(bool out, Instant t) const {
  if (!out) return parlour(t);
  Air air = weather_.air(t);
  air.temperature_c += 1.5;  // a wall keeps some of the day's warmth
  return air;
}

Air House::courtyard(Instant t) const {
  // Pots and sensor need about twenty minutes to follow after the bench was rolled.
  const double hour = solar_time(t).hour;
  const double since_roll = hour >= 18 ? hour - 18 : hour >= 10 ? hour - 10 : hour + 6;
  const bool out = rolled_out(t),
             was_out =
                 rolled_out(t - Span(static_cast<std::int64_t>((since_roll + 0.1) * 3'600'000)));
  Air air = courtyard_place(out, t);
  if (out == was_out) return air;
  const Air before = courtyard_place(was_out, t);
  const double left = std::exp(-since_roll * 3);
  air.temperature_c += left * (before.temperature_c - air.temperature_c);
  air.humidity_rh += left * (before.humidity_rh - air.humidity_rh);
  return air;
}

Air House::air(Place place, Instant t) const {
  constexpr Glass kMist = {
      .set_point_c = 19, .shelter_c = 4, .droop = 0.02, .sun_gain_c = 7, .humidity_rh = 88};
  constexpr Glass kLong = {
      .set_point_c = 15, .shelter_c = 4, .droop = 0.03, .sun_gain_c = 9, .humidity_rh = 74};
  constexpr Glass kColdEnd = {
      .set_point_c = 11, .shelter_c = 3, .droop = 0.15, .sun_gain_c = 8, .humidity_rh = 78};
  switch (place) {
    case Place::mist: return behind_glass(kMist, t);
    case Place::long_bench: {
      Glass glass = kLong;
      if (heating_failed(solar_time(t))) glass.set_point_c = kNoHeating;
      return behind_glass(glass, t);
    }
    case Place::cold_end: return behind_glass(kColdEnd, t);
    case Place::courtyard: return courtyard(t);
    case Place::outdoors: return weather_.air(t);
    case Place::parlour: return parlour(t);
  }
  return {};
}

}  // namespace plainwater::sim
