#include "feeding/pump_counters.h"

#include <algorithm>

#include "common/json_text.h"

namespace plainwater::feeding {
namespace {

constexpr std::size_t kTimesMost = 50'000;  // one a minute for 35 days
/// Litres and millilitres that a counter may seem to run backwards by rounding.
constexpr double kJitter = 1e-3;

/// What was added to a counter since its last total; all of it when it began anew.
std::optional<double> grown(const std::optional<double>& before, const std::optional<double>& now, bool& reset) {
  if (!before || !now) return std::nullopt;
  const double more = *now - *before;
  if (more >= -kJitter) return rounded(std::max(0.0, more));
  reset = true;
  return *now;
}

}  // namespace

bool PumpCounters::seen(const DoseReport& report) const {
  const auto source = sources_.find(report.source);
  return source != sources_.end() && std::binary_search(source->second.times.begin(), source->second.times.end(), report.time);
}

Given PumpCounters::take(const DoseReport& report, Instant now) {
  Source& source = sources_[report.source];
  auto& times = source.times;
  times.insert(std::upper_bound(times.begin(), times.end(), report.time), report.time);
  const auto keep = std::lower_bound(times.begin(), times.end(), now - kReportsKept);
  times.erase(times.begin(), std::max(keep, times.end() - static_cast<std::ptrdiff_t>(std::min(times.size(), kTimesMost))));

  Given given{report.litres, report.feed_ml, report.time, false};
  if (!report.litres_total && !report.feed_ml_total) return given;
  if (report.time <= source.total_time) return given;
  if (!given.litres) given.litres = grown(source.litres_total, report.litres_total, given.reset);
  if (!given.feed_ml) given.feed_ml = grown(source.feed_ml_total, report.feed_ml_total, given.reset);
  if (source.total_time != kNever) given.from = source.total_time;
  source.total_time = report.time;
  if (report.litres_total) source.litres_total = report.litres_total;
  if (report.feed_ml_total) source.feed_ml_total = report.feed_ml_total;
  return given;
}

}  // namespace plainwater::feeding
