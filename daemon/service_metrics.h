// What a metrics server is told: the counts that only metrics need, and the port on which it asks. A figure is copied
// under the service's lock; text is made of it on a thread of the listener, without the lock.
#pragma once

#include <functional>
#include <memory>

#include "feeding/decision.h"
#include "metrics/listener.h"
#include "settings/settings.h"

namespace plainwater {

/// Guarded by the service's lock.
struct MetricCounts {
  metrics::DecisionCounts decisions;
  std::uint64_t orders = 0;
  metrics::Durations writes;
  std::optional<metrics::BoardFigures> board;  ///< of the last second
  bool listening = false;  ///< connected to the broker

  void count(const std::vector<feeding::Decision>& of, std::size_t given_orders);
};

/// None when the settings want no metrics.
Result<std::unique_ptr<metrics::Listener>> open_metrics(const Settings& settings, metrics::Listener::Take take);

}  // namespace plainwater
