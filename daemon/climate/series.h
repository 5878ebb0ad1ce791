// One sensor's readings of one quantity, sorted by time: the current cycle and the last closed
// night.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "common/instant.h"
#include "common/reading.h"

namespace plainwater::climate {

/// A value at a time; only eight bytes, since a bench may keep two days of one reading a minute.
struct Point {
  std::int32_t ms = 0;  ///< from the series' base
  Milli value = 0;
  bool operator==(const Point&) const = default;
  template <class A>
  void fields(A& a) {
    a(ms);
    a(value);
  }
};

class Series {
 public:
  enum class Added { appended, inserted, repeated, conflicting };

  /// Keeps the set sorted. Of two values at one time the smaller counts.
  /// `time` must lie within 24 days of the first kept reading.
  Added add(Instant time, Milli value);
  /// Drops readings before `time`.
  void forget_before(Instant time);

  bool empty() const { return points_.empty(); }
  std::size_t size() const { return points_.size(); }
  Instant time(std::size_t i) const { return base_ + Span(points_[i].ms); }
  Milli value(std::size_t i) const { return points_[i].value; }
  /// Index of the first reading at or after `time`.
  std::size_t at_or_after(Instant time) const;

  template <class A>
  void fields(A& a) {
    a(base_);
    a(points_);
  }
  bool operator==(const Series&) const = default;

 private:
  Instant base_{};
  std::vector<Point> points_;
};

}  // namespace plainwater::climate
