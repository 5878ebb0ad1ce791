#include "metrics/family.h"

namespace plainwater::metrics {

using prometheus::MetricType;

Family::Family(Families& into, MetricType type, std::string name, std::string help)
    : into_(into), at_(into.size()) {
  into.push_back({std::move(name), std::move(help), type, {}});
}

prometheus::ClientMetric& Family::sample(Labels labels) {
  auto& sample = family().metric.emplace_back();
  sample.label.reserve(labels.size());
  for (const auto& [name, value] : labels) sample.label.push_back({name, value});
  return sample;
}

Family& Family::add(double value, Labels labels) {
  if (std::isnan(value)) return *this;
  const double rounded = std::abs(value) < 1e9 ? std::round(value * 1e6) / 1e6 : value;
  auto& into = sample(labels);
  (family().type == MetricType::Counter ? into.counter.value : into.gauge.value) = rounded;
  return *this;
}

Family& Family::add(Instant time, Labels labels) {
  if (time == kNever || time == kForever) return *this;
  return add(static_cast<double>(to_ms(time)) / 1000, labels);
}

}  // namespace plainwater::metrics
