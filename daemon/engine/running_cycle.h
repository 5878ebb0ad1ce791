// The current cycle, a day and the night after it, by the site's sun.
#pragma once

#include "climate/sun.h"
#include "settings/settings.h"

namespace plainwater::engine {

class RunningCycle {
 public:
  explicit RunningCycle(const Site& site) : sun_(site.latitude_deg, site.longitude_deg) {}

  /// Starts at the first cycle whose night has not closed at `t`.
  void begin(Instant t);
  /// The night has closed: goes on to the next cycle.
  void go_on();

  /// The solar day on whose evening the cycle's night begins.
  climate::SolarDay night() const { return night_; }
  Instant from() const { return from_; }  ///< the sunrise before its day
  Instant sunset() const { return sunset_; }
  Instant sunrise() const { return sunrise_; }
  /// An hour after sunrise.
  Instant close_due() const;
  /// Sunset of the last closed night: older readings are history.
  Instant kept_from() const { return kept_from_; }

  climate::Sun& sun() { return sun_; }  ///< caches the nights that it has computed
  /// Hours of light on the bench in this cycle, from its lamps if it has any, else from the sun.
  double light_h(const Bench& bench);

  template <class A>
  void fields(A& a) {
    a.day(night_);
    a(kept_from_);
    a(from_);
    a(sunset_);
    a(sunrise_);
  }

 private:
  void set(climate::SolarDay day);

  climate::Sun sun_;
  climate::SolarDay night_ = 0;
  Instant kept_from_{};
  Instant from_{}, sunset_{}, sunrise_{};
};

}  // namespace plainwater::engine
