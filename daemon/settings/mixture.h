// What a recipe comes to in a water: the arithmetic that checks of the settings share with the
// doses of orders. Pure.
//
// EC is in mS/cm at 25 °C, ppm N in mg of nitrogen a litre.
#pragma once

#include <functional>
#include <optional>
#include <string_view>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater {

/// Full strength. Numbers are rounded to 1e-6.
struct Mixture {
  double ml_per_litre = 0;   ///< stock in a litre of feed
  double stock_g_per_l = 0;  ///< fertilizer in a litre of stock; of a ready liquid its own mass
  double ppm_n = 0;
  double ec = 0;  ///< water included
};

/// The first number of an N-P-K label such as "15-5-15"; none when it is not one: three numbers
/// from 0, together at most 100.
std::optional<double> nitrogen_of_label(std::string_view label);

/// The water of a name, or null.
using FindWater = std::function<const Water*(std::string_view name)>;
/// EC of a source or of a blend. Errors: no such water, no EC, a blend that is not of two sources.
Result<double> ec_of_water(const FindWater& find, std::string_view name);

/// Faults that no water can mend: no nitrogen or EC of it, one thing told twice, too little told.
/// `where` of an error is the recipe's key to blame.
Status well_formed(const Recipe& recipe);
/// Derives what the recipe leaves out, from stock, ratio and target. Where all three are given they
/// must agree within 2 %, and what counts is the stock and the ratio. Errors as above, or numbers
/// that contradict each other or cannot be mixed.
Result<Mixture> mixture_of(const Recipe& recipe, double water_ec);

/// mL a litre in a pump's steps, rounded down; any when `step` is 0. Never more than
/// `ml_per_litre`.
double in_steps(double ml_per_litre, double step);

}  // namespace plainwater
