#include "listen/own_time.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "common/quoted.h"
#include "listen/names.h"

namespace plainwater::listen {
namespace {

constexpr Span kAhead = minutes(5), kBehind = minutes(10);  ///< as live: beyond them it counts less
constexpr Span kFar = 2 * kDay;  ///< an unnamed number further off than this is no time

std::string off_by(Span span) {
  const auto s = std::chrono::duration_cast<seconds>(span).count();
  if (s < 7200) return fmt::format("{} min", s / 60);
  return s < 2 * 86400 ? fmt::format("{} h", s / 3600) : fmt::format("{} days", s / 86400);
}

/// How far the clock is behind us; negative: ahead.
Span behind(const Series& series) {
  std::vector<double> offsets;
  for (std::size_t i = 0; i < series.times.size(); ++i)
    offsets.push_back(static_cast<double>((series.arrivals[i] - series.times[i]).count()));
  return Span(static_cast<std::int64_t>(middle_of(offsets)));
}

bool stands_still(const Series& series) {
  return series.times.size() >= 3 &&
         std::all_of(series.times.begin(), series.times.end(),
                     [&](Instant time) { return time == series.times.front(); });
}

/// Why it cannot be used as it is; empty: it can.
std::string fault_of(const Series& series, bool only_retained) {
  if (series.times.empty())
    return fmt::format(
        "{} is not a time as RFC 3339 writes it, such as 2026-09-14T05:31:00Z, nor seconds since "
        "1970: the time of arrival counts",
        quoted(series.last));
  if (series.times.size() < series.messages)
    return "not a time in every message: those would be refused";
  if (only_retained) return {};
  const Span off = behind(series);
  if (stands_still(series) && off > kBehind)
    return "the same in every message: perhaps not the time of the reading";
  if (off < -kAhead)
    return fmt::format("its clock is {} ahead: set it, then take the # away", off_by(-off));
  if (off > kBehind)
    return fmt::format("its clock is {} behind: set it, then take the # away", off_by(off));
  return {};
}

}  // namespace

OwnTime own_time(const Observed& observed, const std::vector<Judged>& judged,
                 const std::string& group) {
  OwnTime out;
  int best = 0;
  for (std::size_t i = 0; i < judged.size(); ++i) {
    const Series& series = observed.series[i];
    if (judged[i].meaning != Meaning::time) continue;
    const auto levels = topic_levels(series.place);
    const bool named = meaning_of(words_of(levels.back())) == Meaning::time;
    if (!named && !series.text_time && !observed.only_retained &&
        std::chrono::abs(behind(series)) > kFar)
      continue;
    const std::string why = fault_of(series, observed.only_retained);
    const int good = 1 + (why.empty() ? 8 : 0) + (named ? 4 : 0) +
                     (judged[i].group == group ? 2 : 0) + (levels.size() == 2 ? 1 : 0);
    if (good <= best) continue;
    best = good;
    out = why.empty() ? OwnTime{.place = series.place}
                      : OwnTime{.place = {}, .late = series.place, .why = why};
  }
  return out;
}

}  // namespace plainwater::listen
