// One air for a bench from the sensors that stand on it.
#pragma once

#include <vector>

#include "climate/night.h"

namespace plainwater::climate {

/// The median of the sensors at each time at which any of them spoke; a sensor speaks for `hold`
/// after its reading. Each inner vector is one sensor's values, sorted by time. One sensor is
/// passed through.
std::vector<Air> fuse(const std::vector<std::vector<Air>>& sensors, Span hold);

/// How a sensor's night stands against its bench mates': told from slow offsets, which one sensor
/// alone cannot show.
struct DriftWatch {
  std::vector<double> offsets_c;  ///< of up to 14 trusted nights, against the mates' median
  int nights_off = 0;

  /// Takes tonight's mean less the median of the mates' means; whether it is as usual, within
  /// `limit_c`.
  bool take(double offset_c, double limit_c);
  /// How far an offset is from the usual one, °C; 0 until that is known.
  double off_c(double offset_c) const;
  /// Whether it has strayed for long or far enough: two nights by `limit_c`, or one by twice that.
  bool strays(double off_c, double limit_c) const {
    return off_c >= limit_c && (nights_off >= 2 || off_c >= 2 * limit_c);
  }
  /// What the offset usually is, °C; NaN until three nights are known.
  double usual_offset_c() const;

  template <class A>
  void fields(A& a) {
    a(offsets_c);
    a(nights_off);
  }
};

}  // namespace plainwater::climate
