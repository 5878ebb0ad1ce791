// The close of one cycle: judges sensors by their readings of the cycle, and sums up each bench's
// day and night. A function of the cycle's sorted readings.
#pragma once

#include <vector>

#include "climate/fusion.h"
#include "climate/sensor_watch.h"
#include "engine/running_cycle.h"
#include "engine/turn.h"

namespace plainwater::engine {

/// Lives within one call; everything passed to it must outlive it.
class NightClose {
 public:
  /// `t`: the moment of the close.
  NightClose(Sensors& sensors, const RunningCycle& cycle, Instant t, const Turn& turn)
      : sensors_(sensors), cycle_(cycle), t_(t), turn_(turn) {}

  /// Call first. Doubts each sensor or trusts it again, and tells what has changed.
  void judge_sensors();
  climate::BenchNight sum_up(const Bench& bench) const;

 private:
  /// How far the other sensors on its benches moved within [from, to], °C.
  double neighbours_moved(std::size_t sensor, Instant from, Instant to) const;
  /// Whether the sensor is ignored while its bench has others.
  bool left_out(SensorId id) const;
  climate::Stretch stretch(const std::vector<SensorId>& ids, bool doubted_too, Instant from,
                           Instant to, Span gap) const;
  /// Each sensor's own mean of the night, °C; NaN if it does not cover the night.
  std::vector<double> night_means(const std::vector<SensorId>& ids) const;
  climate::DriftWatch& drift_of(std::size_t bench, SensorId id);
  /// If two sensors disagree, nobody can tell which is right: both stay in use, and a person is
  /// told once.
  void judge_pair(std::size_t bench);
  /// A humidity of 100 % for two days is fog or a soaked sensor; its temperature stays trusted.
  void judge_wet(std::size_t sensor);
  /// Of three or more sensors, doubts the one that drifts from the others.
  void judge_drift(std::size_t bench);

  Sensors& sensors_;
  const RunningCycle& cycle_;
  Instant t_;
  const Turn& turn_;
  std::vector<climate::Doubt> was_;
  std::vector<climate::SensorCycle> cycles_;
};

}  // namespace plainwater::engine
