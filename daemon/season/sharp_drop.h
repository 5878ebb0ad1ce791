// The trigger of a hold: a robust comparison of the last nights with those before, behind a
// sharpness gate.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "season/acclimation.h"

namespace plainwater::season {

/// A sharp drop as the trigger sees it; °C.
struct Drop {
  double base_c = 0;     ///< median of the 21 nights before the last 5, or the kept base
  double noise_c = 0;    ///< their scaled MAD
  double before_c = 0;   ///< median of the 7 nights before the last 5
  double landing_c = 0;  ///< median of the last 5 nights
  double deficit_c = 0;  ///< mean of the last 4 deficits
  double acclimated_c = 0;
  double fall_c() const { return base_c - landing_c; }
};

class SharpDrop {
 public:
  /// Takes the newest counted night (already in `acclimation`) with its deficit. Returns a drop
  /// while the trigger fires; it fires on every night of a drop until the drop is answered.
  std::optional<Drop> take(const Acclimation& acclimation, std::optional<double> deficit_c,
                           const DropRules& rules);
  /// The drop of `night` was answered: only nights after it can start a new drop.
  void answered(std::int64_t night) {
    last_alarm_ = night;
    kept_until_ = -1;
  }
  /// The last answer was cut short or withdrawn: the fall may be answered again.
  void unanswered() { last_alarm_ = -1; }
  /// A hold was withdrawn: keeps its base for a while, so that a second fall in the same autumn is
  /// measured from where the first began.
  void keep_base(double base_c, double noise_c, std::int64_t night, const DropRules& rules);
  /// The plants now count as used to their nights: earlier deficits are void.
  void settled();
  /// Mean of the last `n` deficits, °C.
  double mean_deficit_c(std::size_t n) const;

  template <class A>
  void fields(A& a) {
    a(deficits_);
    a.day(last_alarm_);
    a.day(kept_until_);
    a(kept_base_c_);
    a(kept_noise_c_);
  }

 private:
  std::vector<double> deficits_;  ///< the last 4
  std::int64_t last_alarm_ = -1;  ///< night of the last answered drop, -1: none
  std::int64_t kept_until_ = -1;
  double kept_base_c_ = 0, kept_noise_c_ = 0;
};

}  // namespace plainwater::season
