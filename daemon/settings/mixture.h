// What a recipe gives in a water: arithmetic shared by the checks of the settings and the doses of
// orders. Pure.
//
// EC is in mS/cm at 25 °C, ppm N in mg of nitrogen per litre.
#pragma once

#include <functional>
#include <optional>
#include <string_view>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater {

/// A mixture at full strength. Numbers are rounded to 1e-6.
struct Mixture {
  double ml_per_litre = 0;   ///< mL of stock per litre of feed
  double stock_g_per_l = 0;  ///< fertilizer per litre of stock; for a ready liquid its own mass
  double ppm_n = 0;
  double ec = 0;  ///< including the water's own
};

/// The first number of an N-P-K label such as "15-5-15"; none when it is not a label: three numbers
/// from 0, together at most 100.
std::optional<double> nitrogen_of_label(std::string_view label);

/// The water with this name, or null.
using FindWater = std::function<const Water*(std::string_view name)>;
/// EC of a source or of a blend. Errors: no such water, no EC, a blend that is not of two sources.
Result<double> ec_of_water(const FindWater& find, std::string_view name);

/// Faults of the recipe that no water can cure: nitrogen or EC missing, one thing given twice, too
/// little given. `where` of an error is the recipe's key to blame.
Status well_formed(const Recipe& recipe);
/// Derives the value that the recipe leaves out of stock, ratio and target. If all three are given
/// they must agree within 2 %, and stock and ratio count. Errors as above, or numbers that
/// contradict each other or cannot be mixed.
Result<Mixture> mixture_of(const Recipe& recipe, double water_ec);

/// mL per litre in the pump's steps, rounded down; unchanged when `step` is 0. Never more than
/// `ml_per_litre`.
double in_steps(double ml_per_litre, double step);

}  // namespace plainwater
