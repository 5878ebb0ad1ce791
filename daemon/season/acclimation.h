// What a bench's plants are used to: the acclimated night temperature A, which follows the nights
// with a first-order lag.
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
  /// Takes the next counted night, mean N. A starts at the median of the first 5 nights, and starts
  /// again after a gap of more than 14. Returns the deficit A - N before A moves; none while A is
  /// unknown.
  std::optional<double> take(std::int64_t night, double mean_c, const DropRules& rules);

  /// Acclimated night temperature A, °C.
  std::optional<double> acclimated_c() const { return acclimated_c_; }
  /// Counted nights since A last started, newest last; at most 60.
  const std::vector<CountedNight>& nights() const { return nights_; }
  /// All counted nights ever.
  std::int64_t counted() const { return counted_; }
  /// Median of the last `n` counted nights, °C; NaN when there are none.
  double recent_c(std::size_t n) const;
  /// N_grow: mean of the 60 highest values of A on the last 400 counted nights, °C; at least
  /// `prior_c` while fewer than 300 are known.
  double growing_night_c(double prior_c) const;
  /// After a hold, plants count as used to the nights they had: A = min(A, median of the last 7
  /// nights).
  void settle();
  /// Corrects a counted night's mean after late readings; what was derived from it stays as it was.
  void revise(std::int64_t night, double mean_c);
  /// Whether the last `take` started again after a gap.
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
