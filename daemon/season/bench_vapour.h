// The vapour in the bench's air, as evidence of a move: sun and stoves change the temperature of a
// room's air but not its vapour, while the air of another place nearly always differs in it. It is
// compared only with its own past. Comparing it with the references says little: in spring, air
// indoors and outdoors differs no more than two sensors do, and reference humidity sensors fail
// unnoticed.
#pragma once

#include "common/instant.h"

namespace plainwater::season {

class BenchVapour {
 public:
  /// Takes the air of a look at `time`, °C and %RH (NaN: not known), `step_h` hours after the last
  /// look. Returns the log-likelihood ratio of the bench having been carried since then against
  /// having stayed. 0 if nothing can be said: without humidity, or if the sensor seems stuck.
  /// Bounded to -1..5: two places can be equally moist, and mist or an open window can change the
  /// air at once.
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
  double variance_ = -1;  ///< of `log_kpa_`; below 0: nothing is known yet
  double humidity_rh_ = -1;
  Instant changed_{kNever};  ///< when the humidity was last seen to change
};

}  // namespace plainwater::season
