// What a metrics server is told: the counts that only metrics need, and the port on which it asks.
// A figure is copied under the service's lock; text is made of it on a thread of the listener,
// without the lock.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <string>
#include <utility>

#include "metrics/listener.h"
#include "service_keeper.h"
#include "settings/settings.h"

namespace plainwater {

/// Guarded by the service's lock.
struct MetricCounts {
  metrics::DecisionCounts decisions;
  std::uint64_t orders = 0;
  std::map<std::pair<std::string, std::string>, std::uint64_t>
      told;  ///< notices, by kind and urgency
  metrics::Durations writes;
  std::optional<metrics::BoardFigures> board;  ///< of the last second
  bool listening = false;                      ///< connected to the broker

  void count(const Keeper::Written& written);
};

/// None when the settings want no metrics.
Result<std::unique_ptr<metrics::Listener>> open_metrics(const Settings& settings,
                                                        metrics::Listener::Take take);

}  // namespace plainwater
