// How noisy a bench's sensor is: some hang in a draught, some read in half degrees.
#pragma once

#include <limits>

namespace plainwater::season {

/// Learnt from how far each reading lies from the mean of its two neighbours: for white noise of
/// standard deviation s this averages 0.98 s, and the air's own course bends little within half an
/// hour.
class SensorNoise {
 public:
  /// Takes the temperature of a look, `step_h` hours after the last one. Looks more than a quarter
  /// of an hour apart teach nothing, because the air itself varies between them.
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
