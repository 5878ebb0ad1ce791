#include "feeding/pump_counters.h"

#include <algorithm>

#include "common/json_text.h"

namespace plainwater::feeding {
namespace {

constexpr std::size_t kTimesMost = 50'000;  // one a minute for 35 days
/// Litres and millilitres, or this share of its total, that a counter may seem to run backwards: by rounding, by water that
/// flows back. A fall of more is a counter that began anew.
constexpr double kJitter = 1e-3, kJitterShare = 0.01;

/// What was added to a counter since its last total, which `now` then replaces; all of it when it began anew.
std::optional<double> grown(std::optional<double>& last, const std::optional<double>& now, bool& reset) {
  if (!now) return std::nullopt;
  if (!last) {
    last = now;
    return std::nullopt;
  }
  const double more = *now - *last;
  if (more < 0 && -more <= std::max(kJitter, kJitterShare * *last)) return 0.0;  // the higher total stays: what flowed back comes again
  reset = reset || more < 0;
  last = now;
  return rounded(more < 0 ? *now : more);
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

  const Instant at = std::min(report.time, now);
  Given given{report.litres, report.feed_ml, at, at, false};
  if (!report.litres_total && !report.feed_ml_total) return given;
  if (given.time <= source.total_time) return given;
  const auto litres = grown(source.litres_total, report.litres_total, given.reset);
  const auto feed_ml = grown(source.feed_ml_total, report.feed_ml_total, given.reset);
  const bool by_total = (!given.litres && litres) || (!given.feed_ml && feed_ml);
  if (!given.litres) given.litres = litres;
  if (!given.feed_ml) given.feed_ml = feed_ml;
  if (by_total && source.total_time != kNever) given.from = source.total_time;
  source.total_time = given.time;
  return given;
}

}  // namespace plainwater::feeding
