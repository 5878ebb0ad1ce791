// One turn of the engine: its time, the benches whose feeding it may change, and where its
// decisions go. Lives within one call.
#pragma once

#include "engine/bench_state.h"
#include "engine/sensor_state.h"

namespace plainwater::engine {

/// Readings wait until they are this old against engine time, so that earlier ones can still
/// arrive.
inline constexpr Span kReorderWindow = minutes(10);
/// How far ahead of engine time something may be and still count as now.
inline constexpr Span kFutureTolerance = minutes(5);

struct Turn {
  const Settings& settings;
  Instant now;
  Benches& benches;
  Outcome& out;

  feeding::Decision& tell(feeding::Decision decision) const {
    return out.decisions.emplace_back(std::move(decision));
  }
  /// A notice about a bench, with its share at `t`.
  void notice(Instant t, std::size_t bench, feeding::Cause cause, feeding::Evidence evidence,
              words::Sentence said) const;
  /// A sensor's doubt has changed from `was`; `refused` of the cycle's `samples` readings were
  /// refused.
  void sensor(Instant t, std::size_t sensor, const SensorState& state, climate::Doubt was,
              int samples, int refused) const;
};

}  // namespace plainwater::engine
