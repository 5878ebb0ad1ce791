// What the sun alone makes of a day outdoors: the course of the air for benches without an outdoor
// reference. Outdoors warms through the morning and cools from the late afternoon on; a room does
// neither so far.
#pragma once

#include "common/instant.h"

namespace plainwater::season {

/// A mean that forgets: of all so far at first, of about the last `hours` later.
struct RunningMean {
  double mean = 0;
  double hours = 0;  ///< so long it has been kept

  void take(double value, double step_h, double memory_h);

  template <class A>
  void fields(A& a) {
    a(mean);
    a(hours);
  }
};

/// Air warms in proportion to the sine of the sun's elevation and loses its warmth over hours: a
/// first-order lag. It gives the hour of the warmest air (2 to 3 h after noon), the fall after
/// sunset, and days of summer that range more widely than those of winter.
class SunCourse {
 public:
  /// `sun`: sine of the sun's elevation; the sun stood there for the whole of `step_h`, hours.
  void take(double sun, double step_h);
  /// How much warmer it is than in the mean of the last days, °C.
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
