#include "season/sharp_drop.h"

#include <algorithm>

#include "common/statistics.h"

namespace plainwater::season {
namespace {

constexpr std::size_t kLast = 5, kBase = 21, kPrevious = 7;
constexpr std::size_t kLeastBase = 5;  // so that the first alarm can come on night 10
constexpr std::size_t kDeficits = 4;

/// The means of nights_[from, to).
std::vector<double> means(const std::vector<CountedNight>& nights, std::size_t from,
                          std::size_t to) {
  std::vector<double> out;
  for (std::size_t i = from; i < to; ++i) out.push_back(nights[i].mean_c);
  return out;
}

}  // namespace

double SharpDrop::mean_deficit_c(std::size_t n) const {
  const std::size_t count = std::min(n, deficits_.size());
  return mean(std::span(deficits_).last(count));
}

void SharpDrop::settled() { deficits_.clear(); }

void SharpDrop::keep_base(double base_c, double noise_c, std::int64_t night,
                          const DropRules& rules) {
  kept_base_c_ = base_c;
  kept_noise_c_ = noise_c;
  kept_until_ = night + rules.kept_base_nights;
}

std::optional<Drop> SharpDrop::take(const Acclimation& acclimation, std::optional<double> deficit_c,
                                    const DropRules& rules) {
  if (acclimation.restarted()) *this = SharpDrop();
  if (!deficit_c) return std::nullopt;
  deficits_.push_back(*deficit_c);
  if (deficits_.size() > kDeficits) deficits_.erase(deficits_.begin());

  const auto& nights = acclimation.nights();
  if (nights.size() < kLast + kLeastBase || deficits_.size() < 3) return std::nullopt;
  const std::size_t last = nights.size() - kLast;
  // After an answer only the nights since count, so that the same fall is not answered twice.
  const auto since_answer = [&](std::size_t from) {
    while (from < last && nights[from].night <= last_alarm_) ++from;
    return from;
  };
  const std::size_t base_from = since_answer(last - std::min(last, kBase));
  const std::size_t before_from = since_answer(last - std::min(last, kPrevious));
  if (last - base_from < kLeastBase) return std::nullopt;

  const auto base = means(nights, base_from, last);
  Drop drop;
  drop.base_c = median(base);
  drop.noise_c = scaled_mad(base);
  drop.before_c = median(means(nights, before_from, last));
  drop.landing_c = median(means(nights, last, nights.size()));
  drop.deficit_c = mean_deficit_c(kDeficits);
  drop.acclimated_c = *deficit_c + nights.back().mean_c;  // A before tonight
  const std::int64_t tonight = nights.back().night;
  if (tonight <= kept_until_ && kept_base_c_ > drop.base_c) {
    drop.base_c = kept_base_c_;
    drop.noise_c = kept_noise_c_;
  }

  const bool falls = drop.fall_c() >= std::max(rules.fall_c, rules.noise_factor * drop.noise_c);
  const bool sharp = drop.before_c - drop.landing_c >= rules.sharpness_c;
  const bool deep = mean_deficit_c(3) >= rules.mean_deficit_c && *deficit_c >= rules.deficit_c;
  if (!falls || !sharp || !deep) return std::nullopt;
  return drop;
}

}  // namespace plainwater::season
