// Nights for a bench's season, and the trigger's answers to them.
#pragma once

#include <optional>
#include <vector>

#include "season/bench_season.h"

namespace plainwater::season {

/// Small, repeating differences between nights, so that a series is not perfectly still; mean 0,
/// within ±0.3 °C.
inline double ripple(std::int64_t night) {
  static constexpr double kRipple[] = {0.1, -0.2, 0.3, -0.1, 0.2, -0.3, 0.0};
  return kRipple[night % 7];
}

struct Nights {
  BenchSeason season;
  DropRules rules;
  std::int64_t night = 20'000;
  std::optional<double> deficit;

  /// Takes one counted night; the trigger's drop while it fires.
  std::optional<Drop> take(double mean_c) {
    deficit = season.acclimation.take(night++, mean_c, rules);
    return season.drop.take(season.acclimation, deficit, rules);
  }
  /// Takes `count` nights around `mean_c`; on which of them (1 = the first) the trigger fired
  /// first, 0 if never.
  int run(int count, double mean_c) {
    int fired = 0;
    for (int i = 1; i <= count; ++i)
      if (take(mean_c + ripple(night)) && fired == 0) fired = i;
    return fired;
  }
  void skip(int nights) { night += nights; }
  void answer() { season.drop.answered(night - 1); }
  double acclimated() const { return season.acclimation.acclimated_c().value(); }
};

}  // namespace plainwater::season
