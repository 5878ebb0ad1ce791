#include "listen/units.h"

#include <algorithm>
#include <cmath>

#include "intake/payload.h"

namespace plainwater::listen {
namespace {

constexpr double kColdest = -30, kHottest = 60;  ///< °C; as the watch over sensors has it
constexpr double kCool = 5, kWarm = 35;          ///< °C; where most air is that plants stand in
constexpr double kSureMargin = 6, kLikelyMargin = 3;
constexpr double kMostByOthers = 15;
/// Values that sensors send before they have measured, or when they are cut off.
bool is_power_on(double number) { return number == 85 || number == -127 || number == 127.94; }

std::vector<double> measured(const std::vector<double>& numbers) {
  std::vector<double> kept;
  std::copy_if(numbers.begin(), numbers.end(), std::back_inserter(kept),
               [](double number) { return !is_power_on(number); });
  return kept.empty() ? numbers : kept;
}

/// A way to read numbers, and how odd it is that somebody sends like this, in °C that they may be
/// nearer to others by.
struct Way {
  Reckoned reckoned;
  double odd;
  double least;  ///< numbers under it are odd by as much again
  bool whole;    ///< only whole numbers are sent so
};
constexpr Way kWays[] = {
    {{Unit::celsius, 1}, 0, 0, false},       {{Unit::fahrenheit, 1}, 6, 0, false},
    {{Unit::kelvin, 1}, 6, 0, false},        {{Unit::celsius, 0.1}, 8, 100, true},
    {{Unit::celsius, 0.01}, 10, 1000, true}, {{Unit::celsius, 0.001}, 10, 10000, true},
};

}  // namespace

double middle_of(std::vector<double> numbers) {
  if (numbers.empty()) return 0;
  const auto middle = numbers.begin() + static_cast<std::ptrdiff_t>(numbers.size() / 2);
  std::nth_element(numbers.begin(), middle, numbers.end());
  return *middle;
}

double Reckoned::celsius(double number) const { return intake::celsius_of(number, unit) * scale; }

std::optional<TemperatureUnit> temperature_unit(const std::vector<double>& numbers,
                                                std::optional<Unit> told,
                                                std::optional<double> others_c) {
  const std::vector<double> kept = measured(numbers);
  if (kept.empty()) return std::nullopt;
  const bool whole = std::all_of(kept.begin(), kept.end(),
                                 [](double number) { return number == std::floor(number); });
  const double middle = middle_of(kept);
  const auto [low, high] = std::minmax_element(kept.begin(), kept.end());
  struct Weighed {
    const Way* way;
    double against;
  };
  std::vector<Weighed> weighed;
  for (const Way& way : kWays) {
    if ((told && *told != way.reckoned.unit) || (way.whole && !whole)) continue;
    if (way.reckoned.celsius(*low) < kColdest || way.reckoned.celsius(*high) > kHottest) continue;
    const double c = way.reckoned.celsius(middle);
    double against = told && way.reckoned.scale == 1 ? 0 : way.odd;
    if (std::abs(middle) < way.least) against += way.least == 100 ? 4 : 8;
    against += std::max({0.0, kCool - c, c - kWarm});
    if (others_c) against += std::min(kMostByOthers, std::abs(c - *others_c) / 2);
    weighed.push_back({&way, against});
  }
  if (weighed.empty()) return std::nullopt;
  std::stable_sort(weighed.begin(), weighed.end(),
                   [](const Weighed& a, const Weighed& b) { return a.against < b.against; });
  TemperatureUnit out{.chosen = weighed[0].way->reckoned, .celsius = 0};
  out.celsius = out.chosen.celsius(middle);
  const double margin = weighed.size() > 1 ? weighed[1].against - weighed[0].against : kSureMargin;
  out.sure = margin >= kSureMargin     ? Sure::sure
             : margin >= kLikelyMargin ? Sure::likely
                                       : Sure::doubtful;
  if (out.sure != Sure::sure) out.other = weighed[1].way->reckoned;
  return out;
}

std::optional<HumidityUnit> humidity_unit(const std::vector<double>& numbers, bool percent,
                                          bool fraction) {
  if (numbers.empty()) return std::nullopt;
  const auto [low, high] = std::minmax_element(numbers.begin(), numbers.end());
  if (*low < 0) return std::nullopt;
  if (fraction)
    return *high <= 1.05 ? std::optional<HumidityUnit>({100, Sure::sure}) : std::nullopt;
  const bool whole = std::all_of(numbers.begin(), numbers.end(),
                                 [](double number) { return number == std::floor(number); });
  // Air of 1 %RH or less is found in no house; a share of exactly 0 or 1 may be a flag.
  if (*high <= 1)
    return HumidityUnit{percent ? 1.0 : 100.0, percent || whole ? Sure::doubtful : Sure::sure};
  if (*high <= 105) return HumidityUnit{1, percent || *low >= 5 ? Sure::sure : Sure::likely};
  if (whole && *high <= 1050) return HumidityUnit{0.1, *low >= 105 ? Sure::sure : Sure::likely};
  if (whole && *high <= 10500 && *low >= 500) return HumidityUnit{0.01, Sure::likely};
  return std::nullopt;
}

}  // namespace plainwater::listen
