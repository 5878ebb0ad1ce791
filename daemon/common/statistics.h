// Order statistics that detection relies on. Inputs are copied; none may hold a NaN.
#pragma once

#include <span>
#include <vector>

namespace plainwater {

struct Weighted {
  double value = 0;
  double weight = 0;  ///< not negative
};

/// The middle value, or the mean of the two middle ones; NaN when empty.
double median(std::span<const double> values);
/// 1.4826 × the median absolute deviation from the median: the standard deviation of a normal
/// sample. NaN when empty.
double scaled_mad(std::span<const double> values);
double mean(std::span<const double> values);
/// Weighted mean without the lowest and the highest `share` (0..0.5) of the weight; NaN when the
/// total weight is 0.
double trimmed_mean(std::vector<Weighted> values, double share);

}  // namespace plainwater
