// Decides which samples of one sensor can be trusted. The state is updated once a cycle (sunrise to
// sunrise) from the cycle's *sorted set* of samples, so the order of arrival does not matter.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "climate/night.h"
#include "climate/series.h"
#include "settings/settings.h"

namespace plainwater::climate {

/// Why a sensor is doubted.
enum class Doubt : std::uint8_t { none, out_of_range, spiking, stuck, drifting, silent };

/// True for a value that a known fault gives and no greenhouse does: power-on 85.0 °C, disconnected
/// -127 °C, underpowered 127.94 °C.
bool known_fault_value(Milli celsius);

/// True when `value` is an outlier among its neighbours in time: off their median by more than 4 °C
/// and by more than 6 scaled MADs. Fewer than 3 neighbours prove nothing.
bool is_spike(double value, const std::vector<double>& neighbours);

struct Sample {
  Instant time{};
  double value = 0;    ///< °C
  bool stuck = false;  ///< within an unchanging run
};

/// The result of one cycle of one sensor.
struct SensorCycle {
  std::vector<Sample> temperature;  ///< without refused values and spikes
  std::vector<Air> humidity;        ///< %RH in range
  int samples = 0;                  ///< temperature samples received
  int refused = 0;                  ///< out of range or known fault values
  int spikes = 0;
  Instant last_bad{kNever};  ///< the last refused, spiking or stuck sample
  Instant first_bad{kNever};
  bool stuck_at_end = false;
  bool wet = false;  ///< humidity at 100 %RH for 48 h: a soaked sensor, or fog
};

/// How far other sensors nearby moved in [from, to], °C; 0 when unknown.
using NeighbourRange = std::function<double(Instant from, Instant to)>;

/// Puts temperatures of [from, to) that are in range and not spikes into `cycle`, and counts the
/// others.
void believe(const Series& temperature, Instant from, Instant to, const SensorRules& rules,
             SensorCycle& cycle);

class SensorWatch {
 public:
  /// Folds the cycle [from, to) and updates the doubt about this sensor from its own samples.
  SensorCycle fold(const Series& temperature, const Series& humidity, Instant from, Instant to,
                   const SensorRules& rules, const NeighbourRange& neighbours);

  /// The sensor's usual interval, learnt from closed cycles; none before the first.
  std::optional<Span> usual_interval() const;
  /// The longest gap between readings that still counts as covered; a sensor that reports on change
  /// covers the time until its next report.
  Span covered_gap(const SensorRules& rules) const;
  /// How long after a reading it counts as silent; none while its interval is unknown.
  std::optional<Span> silent_after(const SensorRules& rules) const;

  Reports reports = Reports::regularly;  ///< from the settings, not part of the state
  Doubt doubt = Doubt::none;
  Instant doubted_since{kNever};

  template <class A>
  void fields(A& a) {
    a(doubt);
    a(doubted_since);
    a(intervals_s_);
    a(resolution_);
    a(run_value_);
    a(run_since_);
    a(humid_value_);
    a(humid_since_);
    a(wet_since_);
  }

 private:
  void learn_interval(const Series& series, Instant from, Instant to);
  std::vector<Instant> walk_humidity(const Series& humidity, Instant from, Instant to,
                                     SensorCycle& cycle);
  void mark_stuck(const std::vector<Instant>& humidity_changes, const SensorRules& rules,
                  const NeighbourRange& neighbours, SensorCycle& cycle);
  void settle_doubt(Instant to, const SensorRules& rules, const SensorCycle& cycle);

  std::vector<std::int32_t> intervals_s_;  ///< medians of the last five cycles
  Milli resolution_ = 0;                   ///< smallest step seen; 0 before the first
  Milli run_value_ = 0;                    ///< temperature since run_since_
  Instant run_since_{kNever};
  Milli humid_value_ = 0;  ///< humidity since humid_since_
  Instant humid_since_{kNever};
  Instant wet_since_{kNever};
};

}  // namespace plainwater::climate
