// Combines a bench's sensors into one air temperature and humidity.
#pragma once

#include <vector>

#include "climate/night.h"

namespace plainwater::climate {

/// The median of the sensors at each time when any of them reported; a reading counts for `hold`
/// afterwards. Each inner vector holds one sensor's values, sorted by time. A single sensor is
/// passed through.
std::vector<Air> fuse(const std::vector<std::vector<Air>>& sensors, Span hold);

/// Compares a sensor's nights with those of the other sensors on its bench, to find slow drift,
/// which a sensor alone cannot show.
struct DriftWatch {
  std::vector<double> offsets_c;  ///< of up to 14 trusted nights, from the others' median
  int nights_off = 0;

  /// Adds tonight's difference between its mean and the median of the others' means. True when it
  /// is as usual, within `limit_c`.
  bool take(double offset_c, double limit_c);
  /// How far an offset is from the usual one, °C; 0 until that is known.
  double off_c(double offset_c) const;
  /// True when it has strayed long or far enough: two nights by `limit_c`, or one by twice that.
  bool strays(double off_c, double limit_c) const {
    return off_c >= limit_c && (nights_off >= 2 || off_c >= 2 * limit_c);
  }
  /// The usual offset, °C; NaN until three nights are known.
  double usual_offset_c() const;

  template <class A>
  void fields(A& a) {
    a(offsets_c);
    a(nights_off);
  }
};

}  // namespace plainwater::climate
