#include "feeding/salts.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"

namespace plainwater::feeding {
namespace {

constexpr double kFirstDoubt = 1.0;   // mS/cm, while nobody has measured runoff
constexpr double kModelDoubt = 0.35;  // share of the long-run EC: leaching is a guess
constexpr double kRunoffDoubt = 0.1;  // mS/cm, plus the same share of the reading
constexpr double kLeastStays = 0.2, kMostStays = 1.5;
constexpr double kReached = 0.5;       // share of the pot: bark drains along its channels
constexpr double kMostPotVolumes = 3;  // growers' practice: a flush is 2 to 3 pot volumes
constexpr double kFlushFactor = 1.6;
constexpr double kAboveWater = 0.1;  // mS/cm above the water's own that a flush leaves

double square(double x) { return x * x; }

}  // namespace

double held_l(const Bench& bench) { return bench.pots * bench.pot_l * bench.held_share; }
double flush_above_ec(const Bench& bench) { return kFlushFactor * alarm_ec(bench); }

void SaltBalance::water(double litres, double ec, const Bench& bench) {
  const double held = held_l(bench);
  if (held <= 0 || litres <= 0 || std::isnan(ec)) return;
  if (!known_) {
    known_ = true;
    ec_ = ec;
    doubt_ = kFirstDoubt;
  }
  const double drained = std::max(bench.leaching * litres, litres - held);
  const double kept = held / (held + drained);  // weight of the earlier value
  const double long_run = ec * stays_ * litres / drained;
  ec_ = rounded(kept * ec_ + (1 - kept) * long_run);
  // A wrong leaching share is wrong at every watering, so its doubt does not average out.
  doubt_ = rounded(kept * doubt_ + (1 - kept) * kModelDoubt * long_run);
}

void SaltBalance::runoff(double ec, Instant t, const Bench& bench) {
  if (held_l(bench) <= 0 || t < measured_) return;
  measured_ = t;
  const double reading_doubt = kRunoffDoubt * (1 + ec);
  if (!known_) {
    known_ = true;
    ec_ = ec;
    doubt_ = rounded(reading_doubt);
    return;
  }
  if (ec_ > 0) stays_ = rounded(std::clamp(stays_ * std::sqrt(ec / ec_), kLeastStays, kMostStays));
  const double trust = square(doubt_) / (square(doubt_) + square(reading_doubt));
  ec_ = rounded(ec_ + trust * (ec - ec_));
  doubt_ = rounded(std::sqrt(1 - trust) * doubt_);
}

FlushAdvice flush_advice(const SaltBalance& salts, double water_ec, const Bench& bench) {
  FlushAdvice advice;
  advice.target_ec = std::max(alarm_ec(bench) / 2, water_ec + kAboveWater);
  if (salts.ec() <= advice.target_ec) {
    advice.water_too_salty = advice.target_ec > alarm_ec(bench);
    return advice;
  }
  advice.water_too_salty = water_ec + kAboveWater > alarm_ec(bench);
  const double needed =
      held_l(bench) * std::log((salts.ec() - water_ec) / (advice.target_ec - water_ec)) / kReached;
  const double most = kMostPotVolumes * bench.pots * bench.pot_l;
  advice.again = needed > most;
  advice.litres = rounded(std::min(needed, most), 1);
  return advice;
}

}  // namespace plainwater::feeding
