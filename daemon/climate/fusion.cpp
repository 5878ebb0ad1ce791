#include "climate/fusion.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"
#include "common/statistics.h"

namespace plainwater::climate {
namespace {
constexpr std::size_t kBaselineNights = 14, kLeastNights = 3;
}

std::vector<Air> fuse(const std::vector<std::vector<Air>>& sensors, Span hold) {
  if (sensors.size() == 1) return sensors.front();
  std::vector<Instant> times;
  for (const auto& sensor : sensors)
    for (const Air& air : sensor) times.push_back(air.time);
  std::sort(times.begin(), times.end());
  times.erase(std::unique(times.begin(), times.end()), times.end());

  std::vector<Air> fused;
  fused.reserve(times.size());
  std::vector<std::size_t> next(sensors.size(), 0);
  std::vector<double> speaking;
  for (const Instant t : times) {
    speaking.clear();
    for (std::size_t s = 0; s < sensors.size(); ++s) {
      while (next[s] < sensors[s].size() && sensors[s][next[s]].time <= t) ++next[s];
      if (next[s] > 0 && t - sensors[s][next[s] - 1].time <= hold)
        speaking.push_back(sensors[s][next[s] - 1].value);
    }
    fused.push_back({t, median(speaking)});
  }
  return fused;
}

double DriftWatch::usual_offset_c() const {
  return offsets_c.size() < kLeastNights ? kUnknown : median(offsets_c);
}

double DriftWatch::off_c(double offset_c) const {
  const double usual = usual_offset_c();
  return std::isnan(usual) ? 0 : std::abs(offset_c - usual);
}

bool DriftWatch::take(double offset_c, double limit_c) {
  if (off_c(offset_c) >= limit_c) {
    ++nights_off;
    return false;
  }
  nights_off = 0;
  // The baseline stays that of the first fortnight, so that a slow drift cannot pull it along.
  if (offsets_c.size() < kBaselineNights) offsets_c.push_back(rounded(offset_c));
  return true;
}

}  // namespace plainwater::climate
