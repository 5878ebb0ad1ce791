// The bench's own vapour, as a witness of its being carried: sun and stoves change the temperature
// of a room's air but not its vapour, while another air nearly always has another one. Vapour is
// held only against itself: against the references it says little, since in spring the airs indoors
// and outdoors differ by no more than two sensors do, and reference humidity sensors fail unseen.
#pragma once

#include "common/instant.h"

namespace plainwater::season {

class BenchVapour {
 public:
  /// Takes the air of a look, °C and %RH (NaN: not known), at `time`, hours after the last look;
  /// how much more likely it is, as a logarithm, if the bench was carried since the last look than
  /// if it stayed. 0 where nothing can be said: without humidity, or where the sensor seems stuck.
  /// At least -1 and at most 5: two airs can be equally moist, and mist or a window can change one
  /// at once.
  double take(double bench_c, double humidity_rh, Instant time, double step_h);

  template <class A>
  void fields(A& a) {
    a(log_kpa_);
    a(variance_);
    a(humidity_rh_);
    a(changed_);
  }

 private:
  bool moves(double humidity_rh, Instant time);

  double log_kpa_ = 0;    ///< logarithm of the vapour pressure, kPa
  double variance_ = -1;  ///< of it; below 0: nothing is known yet
  double humidity_rh_ = -1;
  Instant changed_{kNever};  ///< when the humidity was last seen to change
};

}  // namespace plainwater::season
