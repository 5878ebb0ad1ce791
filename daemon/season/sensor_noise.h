// How restless a bench's sensor is: some hang in a draught, some count by half degrees.
#pragma once

#include <limits>

namespace plainwater::season {

/// Learnt from how far readings lie from the middle of their two neighbours: of white noise with
/// the standard deviation s the mean of that is 0.98 s, and the air itself bends little within half
/// an hour.
class SensorNoise {
 public:
  /// Takes the temperature of a look, `step_h` hours after the last one. Looks more than a quarter
  /// of an hour apart teach nothing: between them the air itself goes up and down.
  void take(double bench_c, double step_h);
  /// Standard deviation, °C: at least that of a good sensor among leaves, 0.25; at most
  /// 0.7.
  double noise_c() const;

  template <class A>
  void fields(A& a) {
    a(restless_c_);
    a(last_c_);
    a(before_c_);
  }

 private:
  static constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
  double restless_c_ = 0;
  double last_c_ = kNone, before_c_ = kNone;  ///< of the last two looks; NaN: too long ago
};

}  // namespace plainwater::season
