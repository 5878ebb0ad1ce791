// A stretch of the site's life, as reports in order of time.
#pragma once

#include <algorithm>
#include <vector>

#include "plainwater-sim/faults.h"

namespace plainwater::sim {

class Season {
 public:
  /// Reports of all sensors from `from` on, one per `interval` (at least 60 s, so that every sensor
  /// keeps its own second).
  Season(std::uint64_t seed, std::vector<Fault> faults, Instant from, Span interval)
      : noise_(seed),
        house_(Weather(noise_)),
        faults_(std::move(faults), noise_),
        from_(from),
        interval_(interval) {}

  /// When the next report is due; `next()` then returns it, or none when the sensor is silent.
  Instant next_time() const {
    return from_ + round_ * interval_ + seconds(kSensors[sensor_].second);
  }
  std::optional<Report> next() {
    const Sensor& sensor = kSensors[sensor_];
    const Instant time = next_time();
    if (++sensor_ == kSensors.size()) {
      sensor_ = 0;
      ++round_;
    }
    return faults_.apply(measure(house_, noise_, sensor, time));
  }

 private:
  Noise noise_;
  House house_;
  Faults faults_;
  Instant from_;
  Span interval_;
  std::int64_t round_ = 0;
  std::size_t sensor_ = 0;
};

static_assert(std::ranges::is_sorted(kSensors, {}, &Sensor::second),
              "reports come in the order of their times");

}  // namespace plainwater::sim
