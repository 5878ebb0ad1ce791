// A made-up house with its outdoors, and a bench that is carried between the two.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "climate/vapour.h"
#include "season/position_watch.h"

namespace plainwater::season {

struct CarriedBench {
  MoveRules rules;
  Instant now = *parse_rfc3339("2026-04-01T00:00:00Z");
  Span interval = minutes(10);
  Position place = Position::indoors;
  double indoor_c = 19, outdoor_c = 8, outdoor_swing_c = 4;
  double indoor_offset_c = 0.4,
         outdoor_offset_c = -0.6;  ///< the air at the bench against the references
  bool has_outdoor = true, has_indoor = true;
  bool sunny = true;  ///< false: it stays dark
  /// How much the sun warms the bench's room and the reference's beyond `indoors()`, °C at most,
  /// and how fast, °C/h; from 10 UTC on, and lost within hours from 14 UTC.
  double bench_sun_c = 0, reference_sun_c = 0, sun_ch = 2.5;
  double outdoor_kpa = 0.9, indoor_kpa = 0.9;  ///< vapour
  bool has_humidity = false;
  double noise_c = 0.15;
  std::uint32_t noise = 7;
  PositionWatch watch;
  std::vector<PlaceChange> changes;

  double random() {
    noise = noise * 1664525u + 1013904223u;
    return static_cast<double>(noise >> 8) / static_cast<double>(1u << 23) - 1;
  }
  /// Warmest at half past two, as air in the sun is.
  double outdoors() const {
    return outdoor_c -
           outdoor_swing_c * std::cos((hours_of(now.time_since_epoch()) - 2.5) / 24 * 6.283185307);
  }
  double indoors() const {
    return indoor_c - 0.8 * std::cos((hours_of(now.time_since_epoch()) - 3) / 24 * 6.283185307);
  }

  double hour() const { return std::fmod(hours_of(now.time_since_epoch()), 24); }
  double sun() const { return sunny ? -0.8 * std::cos(hour() / 24 * 6.283185307) : -1; }
  /// What a sun that warms a room by `most_c` has added by now.
  double warmed(double most_c) const {
    const double risen_c = std::clamp((hour() - 10) * sun_ch, 0.0, most_c);
    return hour() < 14 ? risen_c : risen_c * std::exp((14 - hour()) / 2.5);
  }

  /// The next look; sensor and pots follow the air with 20 minutes.
  Sighting next() {
    now += interval;
    const double air_c = place == Position::outdoors
                             ? outdoors() + outdoor_offset_c
                             : indoors() + indoor_offset_c + warmed(bench_sun_c);
    if (std::isnan(bench_c_)) bench_c_ = air_c;
    bench_c_ += (air_c - bench_c_) * (1 - std::exp(-hours_of(interval) * 3));
    Sighting s;
    s.time = now;
    s.bench_c = bench_c_ + noise_c * random();
    s.sun = sun();
    if (has_humidity)
      s.humidity_rh = std::clamp(100 * (place == Position::outdoors ? outdoor_kpa : indoor_kpa) /
                                         climate::saturation_pressure_kpa(bench_c_) +
                                     random(),
                                 1.0, 100.0);
    if (has_outdoor) s.outdoor_c = outdoors() + noise_c * random();
    if (has_indoor) s.indoor_c = indoors() + warmed(reference_sun_c) + noise_c * random();
    return s;
  }
  void look(const Sighting& s) {
    if (const auto change = watch.look(s, s.time, rules)) changes.push_back(*change);
  }
  void run(double hours) {
    for (const Instant until = now + from_days(hours / 24); now < until;) look(next());
  }
  /// Hours until the watch says `where`; `at_most` when it does not.
  double hours_until(Position where, double at_most) {
    const Instant from = now;
    while (hours_of(now - from) < at_most) {
      look(next());
      if (watch.position() == where) return hours_of(now - from);
    }
    return at_most;
  }
  int moves() const {
    int n = 0;
    for (const PlaceChange& change : changes) n += change.moved();
    return n;
  }
  const PositionFilter& filter() const { return watch.filter(); }

  /// How many references there are: both, the outdoor one, none.
  static CarriedBench with(int references) {
    CarriedBench bench;
    bench.has_outdoor = references >= 1;
    bench.has_indoor = references == 2;
    return bench;
  }

 private:
  double bench_c_ = std::numeric_limits<double>::quiet_NaN();
};

}  // namespace plainwater::season
