#include "season/acclimation.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"
#include "common/statistics.h"

namespace plainwater::season {
namespace {
constexpr std::size_t kStartNights = 5, kKeptNights = 60, kYearNights = 400, kWarmestNights = 60,
                      kKnownYear = 300;
constexpr std::int64_t kLongestGap = 14, kLongestStep = 7;
}  // namespace

double Acclimation::recent_c(std::size_t n) const {
  std::vector<double> last;
  for (std::size_t i = nights_.size() - std::min(n, nights_.size()); i < nights_.size(); ++i)
    last.push_back(nights_[i].mean_c);
  return median(last);
}

std::optional<double> Acclimation::take(std::int64_t night, double mean_c, const DropRules& rules) {
  restarted_ = !nights_.empty() && night - nights_.back().night > kLongestGap;
  if (restarted_) {
    nights_.clear();
    acclimated_c_.reset();
  }
  const std::int64_t step = nights_.empty() ? 1 : night - nights_.back().night;
  nights_.push_back({night, rounded(mean_c)});
  if (nights_.size() > kKeptNights) nights_.erase(nights_.begin());
  ++counted_;

  std::optional<double> deficit;
  if (acclimated_c_) {
    deficit = rounded(*acclimated_c_ - mean_c);
    const double share =
        1 - std::exp(-static_cast<double>(std::min(step, kLongestStep)) / rules.acclimation_days);
    acclimated_c_ = rounded(*acclimated_c_ + (mean_c - *acclimated_c_) * share);
  } else if (nights_.size() >= kStartNights) {
    acclimated_c_ = rounded(recent_c(kStartNights));
    deficit = rounded(*acclimated_c_ - mean_c);
  }
  if (acclimated_c_) {
    year_.push_back(to_milli(*acclimated_c_));
    if (year_.size() > kYearNights) year_.erase(year_.begin());
  }
  return deficit;
}

double Acclimation::growing_night_c(double prior_c) const {
  if (year_.empty()) return prior_c;
  std::vector<Milli> warmest = year_;
  const std::size_t n = std::min(kWarmestNights, warmest.size());
  std::partial_sort(warmest.begin(), warmest.begin() + static_cast<std::ptrdiff_t>(n),
                    warmest.end(), std::greater<>());
  std::int64_t sum = 0;
  for (std::size_t i = 0; i < n; ++i) sum += warmest[i];
  const double known = rounded(static_cast<double>(sum) / static_cast<double>(n) / 1000.0);
  return year_.size() >= kKnownYear ? known : std::max(known, prior_c);
}

void Acclimation::revise(std::int64_t night, double mean_c) {
  for (CountedNight& counted : nights_)
    if (counted.night == night) counted.mean_c = rounded(mean_c);
}

void Acclimation::settle() {
  if (acclimated_c_) acclimated_c_ = rounded(std::min(*acclimated_c_, recent_c(7)));
}

}  // namespace plainwater::season
