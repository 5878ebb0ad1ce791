// From strength to millilitres: how much stock, nitrogen and electrical conductivity a recipe gives
// at a strength.
//
// Formulas (university extension practice for injectors):
//   stock, g/L        = ppm N · ratio / (10 · %N)               200 ppm, 1:100, 15 % N -> 133 g/L
//   ppm N             = 100 · (EC of feed - EC of water) / EC per 100 ppm N
//   EC of a blend     = f · EC first + (1 - f) · EC second
//   stock, mL a litre = 1000 / ratio
// EC is in mS/cm at 25 °C, ppm N in mg of nitrogen per litre. Urea adds nitrogen but almost no EC;
// the label's EC per 100 ppm N accounts for that.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater::feeding {

/// What full strength means for one recipe with one water.
struct FullStrength {
  double ml_per_litre = 0;  ///< stock per litre of feed
  double stock_g_per_l =
      0;  ///< fertilizer per litre of stock (a ready-made liquid: 1000 · its density)
  double ppm_n = 0;
  double ec = 0;  ///< including the water's own
  double water_ec = 0;
  double ec_per_100ppm_n = 0;
};

/// EC of a source or a blend. Errors: no such water, a blend of blends.
Result<double> water_ec(const Settings& settings, std::string_view water);
/// Derives what the recipe leaves out. Errors: which of stock, ratio and target contradict each
/// other or are missing, or that the water alone exceeds the target.
Result<FullStrength> full_strength(const Recipe& recipe, double water_ec);

/// Why a pump cannot or may not give a strength; its order is then plain water.
enum class DoseProblem : std::uint8_t { none, too_little, too_much, over_refusal };
const char* name_of(DoseProblem problem);  ///< "", "too-little" …

/// A dose per litre of water.
struct Dose {
  std::string recipe, water;
  double strength_percent = 0;  ///< as asked for
  double ml_per_litre =
      0;  ///< what the pump is to give, rounded down to its steps; 0 if there is a problem
  double grams_per_litre = 0;  ///< the same as fertilizer, for mixing by hand
  double injector_ratio = 0;   ///< 1000 / ml_per_litre; 0 at plain water
  double ppm_n = 0;            ///< of what is given
  double ec = 0;               ///< expected, of what is given
  double water_ec = 0;
  DoseProblem problem = DoseProblem::none;
  bool water_over_alarm = false;  ///< the water alone exceeds the alarm EC
  bool over_alarm = false;        ///< the feed exceeds the alarm EC

  bool operator==(const Dose&) const = default;
};

/// What limits a dose.
struct DoseLimits {
  double alarm_ec = 1.2, refusal_ec = 1.5;  ///< mS/cm
  double least_ml_per_litre = 0;
  std::optional<double> most_ml_per_litre;
  double step_ml_per_litre = 0;  ///< 0: no steps
};

/// `strength_percent` from 0 to 100; more counts as 100. The dose never exceeds full strength, is
/// zero at 0, and never falls as the strength rises (within what the pump can do).
Dose dose_at(const FullStrength& full, double strength_percent, const DoseLimits& limits);

/// The limits of a pump and of the most sensitive of its benches.
DoseLimits limits_of(const Settings& settings, const Pump& pump);
/// EC of the pump's water; none if the settings do not give it.
std::optional<double> water_ec_of(const Settings& settings, const Pump& pump);
/// What full strength means on the pump; none without a recipe and a water that work together.
std::optional<FullStrength> full_strength_of(const Settings& settings, const Pump& pump);
/// The dose of a pump at a strength; none when the pump has no recipe. The settings have been
/// checked.
std::optional<Dose> dose_of(const Settings& settings, const Pump& pump, double strength_percent);

}  // namespace plainwater::feeding
