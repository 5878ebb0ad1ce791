// Helpers that keep the lists of metric families short.
#pragma once

#include <prometheus/metric_family.h>

#include <cmath>
#include <initializer_list>
#include <string>
#include <utility>
#include <vector>

#include "common/instant.h"

namespace plainwater::metrics {

using Families = std::vector<prometheus::MetricFamily>;
using Labels = std::initializer_list<std::pair<const char*, std::string>>;

class Family {
 public:
  Family(Families& into, prometheus::MetricType type, std::string name, std::string help);
  /// Leaves out unknown values. Rounds to a millionth, as people would write it.
  Family& add(double value, Labels labels = {});
  /// Seconds since 1970; leaves out "never" and "for ever".
  Family& add(Instant time, Labels labels = {});
  prometheus::ClientMetric& sample(Labels labels);

 private:
  prometheus::MetricFamily& family() { return into_[at_]; }

  Families& into_;
  std::size_t at_;
};

inline Family gauge(Families& into, std::string name, std::string help) {
  return {into, prometheus::MetricType::Gauge, std::move(name), std::move(help)};
}
/// `name` must end with _total.
inline Family counter(Families& into, std::string name, std::string help) {
  return {into, prometheus::MetricType::Counter, std::move(name), std::move(help)};
}

}  // namespace plainwater::metrics
