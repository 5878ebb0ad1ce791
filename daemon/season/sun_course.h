// The daily course of outdoor air computed from the sun alone, for benches without an outdoor
// reference. Outdoor air warms through the morning and cools from late afternoon on; a room does so
// far less.
#pragma once

#include "common/instant.h"

namespace plainwater::season {

/// A mean that forgets: at first over everything so far, later over about the last `memory_h`
/// hours.
struct RunningMean {
  double mean = 0;
  double hours = 0;  ///< how long it has been kept

  void take(double value, double step_h, double memory_h);

  template <class A>
  void fields(A& a) {
    a(mean);
    a(hours);
  }
};

/// Air warms in proportion to the sine of the sun's elevation and loses warmth over hours: a
/// first-order lag. This reproduces the warmest hour (2 to 3 h after noon), the fall after sunset,
/// and the wider daily range of summer.
class SunCourse {
 public:
  /// `sun`: sine of the sun's elevation, taken as constant over `step_h`, hours.
  void take(double sun, double step_h);
  /// How much warmer it is now than the mean of the last days, °C.
  double departure_c() const { return warmed_c_ - usually_.mean; }

  template <class A>
  void fields(A& a) {
    a(warmed_c_);
    a(usually_);
  }

 private:
  double warmed_c_ = 0;
  RunningMean usually_;
};

}  // namespace plainwater::season
