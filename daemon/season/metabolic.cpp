#include "season/metabolic.h"

#include <algorithm>
#include <cmath>

namespace plainwater::season {
namespace {
double log_rate(double celsius) {
  const double t = std::clamp(celsius, -10.0, 45.0);
  return 0.1012 * t - 0.0005 * t * t;
}
}  // namespace

double relative_metabolic_rate(double night_c, double reference_c) {
  return std::exp(log_rate(night_c) - log_rate(reference_c));
}

}  // namespace plainwater::season
