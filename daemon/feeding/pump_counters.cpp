#include "feeding/pump_counters.h"

#include <algorithm>
#include <utility>

#include "common/json_text.h"

namespace plainwater::feeding {
namespace {

constexpr std::size_t kTimesMost = 50'000;  // one a minute for 35 days
/// How far a counter may seem to run backwards by rounding or backflow: litres or millilitres, and
/// at most this share of its total. A larger fall means that the counter was reset.
constexpr double kJitter = 2, kJitterShare = 0.01;
/// No watering lasts longer.
constexpr Span kLongestWatering = hours(12);

}  // namespace

std::optional<double> PumpCounters::Counter::grown(const std::optional<double>& now, Instant at,
                                                   Instant& from, bool& reset) {
  if (!now || at <= time) return std::nullopt;
  const std::optional<double> before = std::exchange(total, now);
  const Instant since = std::exchange(time, at);
  if (!before) return std::nullopt;
  from = since;
  const double more = *now - *before;
  if (more >= 0) return rounded(more);
  if (-more <= std::min(kJitter, kJitterShare * *before)) return 0.0;
  reset = true;
  return *now;
}

bool PumpCounters::seen(const DoseReport& report) const {
  const auto source = sources_.find(report.source);
  return source != sources_.end() &&
         std::binary_search(source->second.times.begin(), source->second.times.end(), report.time);
}

Given PumpCounters::take(const DoseReport& report, Instant now) {
  Source& source = sources_[report.source];
  auto& times = source.times;
  times.insert(std::upper_bound(times.begin(), times.end(), report.time), report.time);
  const auto keep = std::lower_bound(times.begin(), times.end(), now - kReportsKept);
  times.erase(times.begin(), std::max(keep, times.end() - static_cast<std::ptrdiff_t>(
                                                              std::min(times.size(), kTimesMost))));

  const Instant at = std::min(report.time, now);
  Given given{report.litres, report.feed_ml, at, at, at, at, false};
  if (report.began)
    given.moment = given.from = given.stock_from =
        std::clamp(*report.began, at - kLongestWatering, at);
  Instant litres_from = given.from, stock_from = given.stock_from;
  const auto litres = source.litres.grown(report.litres_total, at, litres_from, given.reset);
  const auto feed_ml = source.feed_ml.grown(report.feed_ml_total, at, stock_from, given.reset);
  if (!given.litres && litres) given.litres = litres, given.from = litres_from;
  if (!given.feed_ml && feed_ml) given.feed_ml = feed_ml, given.stock_from = stock_from;
  return given;
}

}  // namespace plainwater::feeding
