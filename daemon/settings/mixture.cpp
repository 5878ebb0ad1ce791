#include "settings/mixture.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "common/json_text.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

constexpr double kAgreement = 0.02;
constexpr double kMostStock = 1000;      // g/L; no powder dissolves to more
constexpr double kMostMlPerLitre = 500;  // half of the feed would be stock

std::optional<double> stock_of(const Recipe& recipe) {
  if (recipe.density) return 1000 * *recipe.density;
  return recipe.stock_g_per_l;
}

std::optional<double> ml_per_litre_of(const Recipe& recipe) {
  if (recipe.injector_ratio) return 1000 / *recipe.injector_ratio;
  return recipe.ml_per_litre;
}

bool has_target(const Recipe& recipe) { return recipe.target_ppm_n || recipe.target_ec; }

const char* target_key(const Recipe& recipe) {
  return recipe.target_ec ? "target_ec" : "target_ppm_n";
}

double ec_of(const Recipe& recipe, double ppm_n, double water_ec) {
  return water_ec + ppm_n * recipe.ec_per_100ppm_n / 100;
}

/// Each of stock, ratio and target may be given in one way only.
Status given_once(const Recipe& recipe) {
  if (recipe.stock_g_per_l && recipe.density)
    return Error{"the stock is given twice, by stock and by density", "density",
                 "keep stock for one that you mix, density for a ready liquid"};
  if (recipe.injector_ratio && recipe.ml_per_litre)
    return Error{"the ratio is given twice, by injector_ratio and by ml_per_litre", "ml_per_litre",
                 "keep one of the two"};
  if (recipe.target_ppm_n && recipe.target_ec)
    return Error{"the target is given twice, by target_ppm_n and by target_ec", "target_ec",
                 "keep one of the two"};
  return Done{};
}

/// Checks stock, ratio and target against each other when all are given.
Status agree(const Recipe& recipe, const Mixture& mixture) {
  const double given = recipe.target_ec ? mixture.ec : mixture.ppm_n;
  const double target = recipe.target_ec.value_or(recipe.target_ppm_n.value_or(0));
  if (std::abs(given - target) <= kAgreement * target) return Done{};
  return Error{
      fmt::format(
          "{:.4g} mL a litre of a stock of {:.4g} g/L make {:.4g} {}, but the target is {:.4g}",
          mixture.ml_per_litre, mixture.stock_g_per_l, given, recipe.target_ec ? "mS/cm" : "ppm N",
          target),
      target_key(recipe), "leave out one of stock, ratio and target, or correct it"};
}

}  // namespace

std::optional<double> nitrogen_of_label(std::string_view label) {
  double sum = 0;
  std::optional<double> nitrogen;
  for (int part = 0; part < 3; ++part) {
    const auto end = part < 2 ? label.find('-') : label.size();
    if (end == std::string_view::npos) return std::nullopt;
    const std::string_view digits = label.substr(0, end);
    if (digits.find_first_not_of("0123456789.") != std::string_view::npos) return std::nullopt;
    const auto number = read_number(digits);
    if (!number) return std::nullopt;
    if (part == 0) nitrogen = number;
    sum += *number;
    label.remove_prefix(std::min(end + 1, label.size()));
  }
  return sum <= 100 ? nitrogen : std::nullopt;
}

Result<double> ec_of_water(const FindWater& find, std::string_view name) {
  const auto no_such = [](std::string_view wanted) {
    return Error{fmt::format("there is no water {}", json_string(wanted)), "", "add it to waters"};
  };
  const Water* water = find(name);
  if (water == nullptr) return no_such(name);
  const auto missing = [](const Water& source) {
    return Error{"expected the water's EC", "waters." + source.name,
                 "measure it and give it in ec"};
  };
  if (water->blend.empty()) return water->ec ? Result<double>(*water->ec) : missing(*water);
  if (water->blend.size() != 2)
    return Error{"expected two waters in the blend", "waters." + water->name, "name two sources"};
  double parts[2] = {};
  for (std::size_t i = 0; i < 2; ++i) {
    const Water* source = find(water->blend[i]);
    if (source == nullptr) return no_such(water->blend[i]);
    if (!source->blend.empty())
      return Error{fmt::format("{} is a blend itself", source->name), "waters." + water->name,
                   "blend two sources"};
    if (!source->ec) return missing(*source);
    parts[i] = *source->ec;
  }
  return rounded(water->share * parts[0] + (1 - water->share) * parts[1]);
}

Status well_formed(const Recipe& recipe) {
  if (recipe.nitrogen_percent <= 0)
    return Error{"expected a fertilizer with nitrogen: strength is measured by it", "label",
                 "give the label's N-P-K, such as \"15-5-15\""};
  if (recipe.ec_per_100ppm_n <= 0)
    return Error{"expected the EC that 100 ppm N add", "ec_per_100ppm_n",
                 "see the label; 0.4 to 0.75 mS/cm is usual"};
  if (const auto once = given_once(recipe); !once) return once.error();
  std::vector<const char*> missing;
  if (!stock_of(recipe)) missing.push_back("stock (or density)");
  if (!ml_per_litre_of(recipe)) missing.push_back("injector_ratio (or ml_per_litre)");
  if (!has_target(recipe)) missing.push_back("target_ppm_n (or target_ec)");
  if (missing.size() < 2) return Done{};
  return Error{fmt::format("expected two of stock, ratio and target; missing are {}",
                           fmt::join(missing, ", ")),
               "", missing.size() == 3 ? "add two of them" : "add one of them"};
}

Result<Mixture> mixture_of(const Recipe& recipe, double water_ec) {
  if (const auto formed = well_formed(recipe); !formed) return formed.error();
  const double percent = recipe.nitrogen_percent;
  auto stock = stock_of(recipe), ml = ml_per_litre_of(recipe);
  if (recipe.target_ec && *recipe.target_ec <= water_ec)
    return Error{
        fmt::format("the water alone has {:.4g} mS/cm, which leaves nothing of {:.4g} for feed",
                    water_ec, *recipe.target_ec),
        "target_ec", "take a water with less salt in it, or a higher target"};
  const bool all_given = stock && ml && has_target(recipe);
  const double target_ppm_n = recipe.target_ec
                                  ? 100 * (*recipe.target_ec - water_ec) / recipe.ec_per_100ppm_n
                                  : recipe.target_ppm_n.value_or(0);
  if (!stock) stock = 100 * target_ppm_n / (*ml * percent);
  if (!ml) ml = 100 * target_ppm_n / (*stock * percent);

  Mixture mixture{rounded(*ml), rounded(*stock), rounded(*ml * *stock * percent / 100), 0};
  mixture.ec = rounded(ec_of(recipe, mixture.ppm_n, water_ec));
  if (all_given)
    if (const auto agreed = agree(recipe, mixture); !agreed) return agreed.error();
  if (!recipe.density && mixture.stock_g_per_l > kMostStock)
    return Error{
        fmt::format("the stock would need {:.4g} g/L, more than dissolves", mixture.stock_g_per_l),
        target_key(recipe), "take a smaller injector_ratio, or a lower target"};
  if (mixture.ml_per_litre > kMostMlPerLitre || mixture.ml_per_litre <= 0)
    return Error{fmt::format("a litre of feed would need {:.4g} mL of stock", *ml),
                 target_key(recipe), "take a stock of another strength, or another target"};
  return mixture;
}

double in_steps(double ml_per_litre, double step) {
  if (step <= 0) return rounded(ml_per_litre);
  // A whole number of steps may come out slightly too small: 0.3 / 0.1.
  return std::min(rounded(std::floor(ml_per_litre / step + 1e-9) * step), rounded(ml_per_litre));
}

}  // namespace plainwater
