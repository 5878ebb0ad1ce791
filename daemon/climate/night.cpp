#include "climate/night.h"

#include <algorithm>

#include "common/statistics.h"

namespace plainwater::climate {
namespace {
constexpr double kTrimmedShare = 0.1;
}

Stretch sum_up(const std::vector<Air>& values, Instant from, Instant to, Span reach) {
  Stretch result;
  std::vector<Weighted> weighted;
  double covered_ms = 0;
  Instant before = kNever;  // time of the previous value in the stretch
  for (std::size_t i = 0; i < values.size(); ++i) {
    const Instant t = values[i].time;
    if (t < from || t >= to) continue;
    const bool last = i + 1 == values.size() || values[i + 1].time >= to;
    const Instant left = std::max(before == kNever ? from : before + (t - before) / 2, t - reach);
    const Instant right = std::min(last ? to : t + (values[i + 1].time - t) / 2, t + reach);
    const double weight = static_cast<double>((right - left).count());
    weighted.push_back({values[i].value, weight});
    covered_ms += weight;
    result.minimum =
        weighted.size() == 1 ? values[i].value : std::min(result.minimum, values[i].value);
    result.maximum =
        weighted.size() == 1 ? values[i].value : std::max(result.maximum, values[i].value);
    before = t;
  }
  if (to > from)
    result.coverage = std::min(1.0, covered_ms / static_cast<double>((to - from).count()));
  result.mean = trimmed_mean(std::move(weighted), kTrimmedShare);
  return result;
}

}  // namespace plainwater::climate
