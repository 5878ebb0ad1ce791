// What a bench's plants are used to: the acclimated night temperature, a first-order lag behind the
// nights.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "common/reading.h"
#include "settings/settings.h"

namespace plainwater::season {

/// A counted night: its number (solar day) and its mean, °C.
struct CountedNight {
  std::int64_t night = 0;
  double mean_c = 0;
  template <class A>
  void fields(A& a) {
    a.day(night);
    a(mean_c);
  }
};

class Acclimation {
 public:
  /// Takes the next counted night. Starts at the median of the first 5; starts afresh after a gap
  /// of more than 14 nights. Returns the deficit A - N before A moves, or none while A is unknown.
  std::optional<double> take(std::int64_t night, double mean_c, const DropRules& rules);

  /// Acclimated night temperature A, °C.
  std::optional<double> acclimated_c() const { return acclimated_c_; }
  /// Counted nights since the start or the last restart, newest last; at most 60.
  const std::vector<CountedNight>& nights() const { return nights_; }
  /// All counted nights ever.
  std::int64_t counted() const { return counted_; }
  /// Median of the last `n` counted nights, °C; NaN when there are none.
  double recent_c(std::size_t n) const;
  /// What A was in the warmest 60 days of the last 400, or `prior_c` where that is warmer and less
  /// than 300 days are known.
  double growing_night_c(double prior_c) const;
  /// At the end of a hold the plants count as used to what they had: A = min(A, median of the last
  /// 7 nights).
  void settle();
  /// A counted night's mean after readings that came late; what was derived from it before stays.
  void revise(std::int64_t night, double mean_c);
  /// Whether the last `take` began afresh after a gap.
  bool restarted() const { return restarted_; }

  template <class A>
  void fields(A& a) {
    a(acclimated_c_);
    a(nights_);
    a(counted_);
    a(year_);
    a(restarted_);
  }

 private:
  std::optional<double> acclimated_c_;
  std::vector<CountedNight> nights_;
  std::int64_t counted_ = 0;
  std::vector<Milli> year_;  ///< A on each counted night of the last 400
  bool restarted_ = false;
};

}  // namespace plainwater::season
