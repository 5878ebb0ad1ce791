#include "climate/series.h"

#include <algorithm>

namespace plainwater::climate {

std::size_t Series::at_or_after(Instant time) const {
  const auto at = std::partition_point(points_.begin(), points_.end(),
                                       [&](const Point& p) { return base_ + Span(p.ms) < time; });
  return static_cast<std::size_t>(at - points_.begin());
}

Series::Added Series::add(Instant time, Milli value) {
  if (points_.empty()) base_ = time;
  const auto ms = static_cast<std::int32_t>((time - base_).count());
  if (points_.empty() || ms > points_.back().ms) {
    points_.push_back({ms, value});
    return Added::appended;
  }
  const auto at = points_.begin() + static_cast<std::ptrdiff_t>(at_or_after(time));
  if (at->ms == ms) {
    if (at->value == value) return Added::repeated;
    at->value = std::min(at->value, value);
    return Added::conflicting;
  }
  points_.insert(at, {ms, value});
  return Added::inserted;
}

void Series::forget_before(Instant time) {
  points_.erase(points_.begin(), points_.begin() + static_cast<std::ptrdiff_t>(at_or_after(time)));
  if (points_.empty()) return;
  const std::int32_t shift = points_.front().ms;
  base_ += Span(shift);
  for (Point& p : points_) p.ms -= shift;
}

}  // namespace plainwater::climate
