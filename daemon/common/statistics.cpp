#include "common/statistics.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace plainwater {

double median(std::span<const double> values) {
  if (values.empty()) return std::numeric_limits<double>::quiet_NaN();
  std::vector<double> v(values.begin(), values.end());
  const std::size_t mid = v.size() / 2;
  std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(mid), v.end());
  if (v.size() % 2 == 1) return v[mid];
  const double below = *std::max_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(mid));
  return (below + v[mid]) / 2;
}

double scaled_mad(std::span<const double> values) {
  const double middle = median(values);
  std::vector<double> off;
  off.reserve(values.size());
  for (const double v : values) off.push_back(std::abs(v - middle));
  return 1.4826 * median(off);
}

double mean(std::span<const double> values) {
  double sum = 0;
  for (const double v : values) sum += v;
  return values.empty() ? std::numeric_limits<double>::quiet_NaN()
                        : sum / static_cast<double>(values.size());
}

double trimmed_mean(std::vector<Weighted> values, double share) {
  std::sort(values.begin(), values.end(), [](const Weighted& a, const Weighted& b) {
    return a.value != b.value ? a.value < b.value : a.weight < b.weight;
  });
  double total = 0;
  for (const Weighted& w : values) total += w.weight;
  const double low = total * share, high = total * (1 - share);
  double before = 0, sum = 0, kept = 0;
  for (const Weighted& w : values) {
    const double part = std::min(before + w.weight, high) - std::max(before, low);
    if (part > 0) {
      sum += part * w.value;
      kept += part;
    }
    before += w.weight;
  }
  return kept > 0 ? sum / kept : std::numeric_limits<double>::quiet_NaN();
}

}  // namespace plainwater
