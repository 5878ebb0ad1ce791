#include "feeding/dose.h"

#include <algorithm>
#include <cmath>

#include "common/json_text.h"
#include "settings/known_bench.h"
#include "settings/mixture.h"

namespace plainwater::feeding {
namespace {

DoseProblem problem_of(const Dose& dose, const DoseLimits& limits) {
  if (dose.ml_per_litre > 0 && dose.ec > limits.refusal_ec) return DoseProblem::over_refusal;
  if (limits.most_ml_per_litre && dose.ml_per_litre > *limits.most_ml_per_litre)
    return DoseProblem::too_much;
  if (dose.ml_per_litre <= 0 || dose.ml_per_litre < limits.least_ml_per_litre)
    return DoseProblem::too_little;
  return DoseProblem::none;
}

/// Fills in what `ml_per_litre` of stock gives.
void give(Dose& dose, double ml_per_litre, const FullStrength& full) {
  const double share = full.ml_per_litre > 0 ? ml_per_litre / full.ml_per_litre : 0;
  dose.ml_per_litre = ml_per_litre;
  dose.grams_per_litre = rounded(ml_per_litre * full.stock_g_per_l / 1000);
  dose.injector_ratio = ml_per_litre > 0 ? rounded(1000 / ml_per_litre) : 0;
  dose.ppm_n = rounded(full.ppm_n * share);
  dose.ec = rounded(full.water_ec + dose.ppm_n * full.ec_per_100ppm_n / 100);
}

}  // namespace

Result<double> water_ec(const Settings& settings, std::string_view water) {
  return ec_of_water([&](std::string_view name) { return settings.water(name); }, water);
}

Result<FullStrength> full_strength(const Recipe& recipe, double water_ec) {
  const auto mixture = mixture_of(recipe, water_ec);
  if (!mixture) {
    Error error = mixture.error();
    error.where = "recipes." + recipe.name + (error.where.empty() ? "" : "." + error.where);
    return error;
  }
  return FullStrength{mixture->ml_per_litre, mixture->stock_g_per_l, mixture->ppm_n,
                      mixture->ec,           rounded(water_ec),      recipe.ec_per_100ppm_n};
}

const char* name_of(DoseProblem problem) {
  static constexpr const char* kNames[] = {"", "too-little", "too-much", "over-refusal"};
  return kNames[static_cast<std::size_t>(problem)];
}

Dose dose_at(const FullStrength& full, double strength_percent, const DoseLimits& limits) {
  Dose dose;
  dose.strength_percent =
      strength_percent > 0 ? std::min(rounded(strength_percent), 100.0) : 0;  // NaN counts as 0
  dose.water_ec = full.water_ec;
  dose.water_over_alarm = full.water_ec > limits.alarm_ec;
  give(dose, in_steps(full.ml_per_litre * dose.strength_percent / 100, limits.step_ml_per_litre),
       full);
  if (dose.strength_percent > 0) dose.problem = problem_of(dose, limits);
  if (dose.problem != DoseProblem::none) give(dose, 0, full);
  dose.over_alarm = dose.ml_per_litre > 0 && dose.ec > limits.alarm_ec;
  return dose;
}

DoseLimits limits_of(const Settings& settings, const Pump& pump) {
  DoseLimits limits;
  bool any = false;
  for (const std::string& name : pump.benches) {
    const Bench& bench = settings.benches[known_bench(settings, name)];
    limits.alarm_ec = any ? std::min(limits.alarm_ec, alarm_ec(bench)) : alarm_ec(bench);
    limits.refusal_ec = any ? std::min(limits.refusal_ec, refusal_ec(bench)) : refusal_ec(bench);
    any = true;
  }
  limits.least_ml_per_litre = pump.least_ml_per_litre;
  limits.most_ml_per_litre = pump.most_ml_per_litre;
  limits.step_ml_per_litre = pump.step_ml_per_litre;
  return limits;
}

std::optional<double> water_ec_of(const Settings& settings, const Pump& pump) {
  const auto ec = water_ec(settings, pump.water);
  return ec ? std::optional(*ec) : std::nullopt;
}

std::optional<FullStrength> full_strength_of(const Settings& settings, const Pump& pump) {
  const Recipe* recipe = settings.recipe(pump.recipe);
  const auto water = water_ec_of(settings, pump);
  if (recipe == nullptr || !water) return std::nullopt;
  const auto full = full_strength(*recipe, *water);
  return full ? std::optional(*full) : std::nullopt;
}

std::optional<Dose> dose_of(const Settings& settings, const Pump& pump, double strength_percent) {
  const auto full = full_strength_of(settings, pump);
  if (!full) return std::nullopt;
  Dose dose = dose_at(*full, strength_percent, limits_of(settings, pump));
  dose.recipe = pump.recipe;
  dose.water = pump.water;
  return dose;
}

}  // namespace plainwater::feeding
