// One sensor: its readings from the start of the last closed night on, and whether it is trusted
// and speaks.
#pragma once

#include <optional>
#include <vector>

#include "climate/sensor_watch.h"
#include "climate/series.h"
#include "common/reading.h"

namespace plainwater::engine {

struct SensorState {
  climate::Series temperature, humidity;
  climate::SensorWatch watch;
  bool wet = false;            ///< humidity was at 100 %RH throughout the last cycle
  Instant newest{kNever};      ///< time of the newest reading
  Instant back_since{kNever};  ///< first reading after a silence
  std::uint32_t late = 0;      ///< readings for a closed night that came since the last close

  /// Adds a reading of the air to its series. If it is used, `silence_due` may come sooner.
  climate::Series::Added add(const Reading& reading);
  /// When to judge its silence, or whether it has been back long enough; kForever: not by time.
  Instant silence_due(const SensorRules& rules) const;
  /// Judges what is due at `due`. Returns the earlier doubt if it has changed.
  std::optional<climate::Doubt> judge_silence(Instant due, const SensorRules& rules);
  void fall_silent(Instant since);
  /// Its night has closed: drops readings from before `t`.
  void forget_before(Instant t);

  template <class A>
  void fields(A& a) {
    a(temperature);
    a(humidity);
    a(watch);
    a(wet);
    a(newest);
    a(back_since);
    a(late);
  }
};

using Sensors = std::vector<SensorState>;  ///< by SensorId

}  // namespace plainwater::engine
