// From strength to millilitres: worked examples, and what limits a dose.
#include "feeding/dose.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "settings/load.h"

using namespace plainwater;
using namespace plainwater::feeding;
using Catch::Matchers::Contains;

namespace {

Recipe a_recipe() {
  Recipe recipe;
  recipe.name = "growth";
  recipe.label = "15-5-15";
  recipe.nitrogen_percent = 15;
  recipe.ec_per_100ppm_n = 0.6;
  return recipe;
}

/// 100 ppm N at 1:100 in water of 0.4 mS/cm: 10 mL a litre, 1.0 mS/cm.
FullStrength a_full_strength() { return {10, 66.666667, 100, 1.0, 0.4, 0.6}; }

std::shared_ptr<const Settings> house(const std::string& pump) {
  const Loaded loaded = load_settings_text(
      "site: {latitude: 52, longitude: -2}\n"
      "benches:\n  east: {sensors: [a], salt_tolerance: high}\n  west: {sensors: [b], alarm_ec: "
      "0.9}\n"
      "waters:\n  tap: {ec: 0.55}\n  rain: {ec: 0.03}\n  mixed: {blend: [tap, rain], share: 0.3}\n "
      " twice: {blend: [tap, rain], share: 1}\n"
      "recipes:\n  growth: {label: 15-5-15, injector_ratio: 100, ec_per_100ppm_n: 0.6, "
      "target_ppm_n: 100}\n"
      "pumps:\n  line: {benches: [east, west]" +
          pump + "}\n",
      "house.yaml");
  for (const Problem& problem : loaded.problems) UNSCOPED_INFO(message(problem, "house.yaml"));
  REQUIRE(loaded.settings);
  return loaded.settings;
}

}  // namespace

TEST_CASE("200 ppm N at 1:100 with 15 % N take a stock of 133 g/L") {
  Recipe recipe = a_recipe();
  recipe.target_ppm_n = 200;
  recipe.injector_ratio = 100;
  const auto full = full_strength(recipe, 0.3);
  REQUIRE(full);
  CHECK(full->stock_g_per_l == Approx(133.333333));
  CHECK(full->ml_per_litre == 10);
  CHECK(full->ppm_n == Approx(200).margin(1e-5));
  CHECK(full->ec == Approx(1.5).margin(1e-6));
  CHECK(full->water_ec == 0.3);
}

TEST_CASE("What a recipe leaves out is derived") {
  Recipe stock_and_ratio = a_recipe();
  stock_and_ratio.stock_g_per_l = 133.333333;
  stock_and_ratio.ml_per_litre = 5;
  const auto half = full_strength(stock_and_ratio, 0);
  REQUIRE(half);
  CHECK(half->ppm_n == Approx(100).margin(1e-5));
  CHECK(half->ec == Approx(0.6).margin(1e-6));

  Recipe stock_and_ec = a_recipe();  // ppm N = 100 · (1.0 - 0.4) / 0.6 = 100
  stock_and_ec.stock_g_per_l = 133.333333;
  stock_and_ec.target_ec = 1.0;
  const auto by_ec = full_strength(stock_and_ec, 0.4);
  REQUIRE(by_ec);
  CHECK(by_ec->ppm_n == Approx(100).margin(1e-4));
  CHECK(by_ec->ml_per_litre == Approx(5).margin(1e-5));

  Recipe liquid = a_recipe();  // 3 % N of 1.2 kg/L are 36 g of nitrogen a litre
  liquid.nitrogen_percent = 3;
  liquid.density = 1.2;
  liquid.target_ppm_n = 90;
  const auto ready = full_strength(liquid, 0);
  REQUIRE(ready);
  CHECK(ready->stock_g_per_l == 1200);
  CHECK(ready->ml_per_litre == Approx(2.5));
}

TEST_CASE("Errors name the recipe and what is wrong") {
  Recipe recipe = a_recipe();
  recipe.target_ppm_n = 100;
  const auto missing = full_strength(recipe, 0.4);
  REQUIRE_FALSE(missing);
  CHECK_THAT(
      missing.error().message(),
      Contains("recipes.growth: expected two of stock, ratio and target; missing are stock"));
  recipe.injector_ratio = 100;
  recipe.stock_g_per_l = 133;
  const auto contradicting = full_strength(recipe, 0.4);
  REQUIRE_FALSE(contradicting);
  CHECK_THAT(contradicting.error().message(), Contains("recipes.growth.target_ppm_n: ") &&
                                                  Contains("199.5 ppm N, but the target is 100"));
  Recipe by_ec = a_recipe();
  by_ec.injector_ratio = 100;
  by_ec.target_ec = 0.4;
  const auto salty = full_strength(by_ec, 0.5);
  REQUIRE_FALSE(salty);
  CHECK_THAT(salty.error().message(),
             Contains("recipes.growth.target_ec: the water alone has 0.5 mS/cm"));
}

TEST_CASE("EC of a source and of a blend") {
  Settings settings = *house("");
  CHECK(*water_ec(settings, "tap") == 0.55);
  CHECK(*water_ec(settings, "mixed") == Approx(0.186));
  CHECK(*water_ec(settings, "twice") == 0.55);
  CHECK_FALSE(water_ec(settings, "sea"));
  settings.waters.push_back({"zzz", std::nullopt, {"mixed", "tap"}, 0.5});
  const auto blend_of_blend = water_ec(settings, "zzz");
  REQUIRE_FALSE(blend_of_blend);
  CHECK_THAT(blend_of_blend.error().message(), Contains("mixed is a blend itself"));
}

TEST_CASE("A dose is the strength's share of full") {
  const Dose dose = dose_at(a_full_strength(), 40, {});
  CHECK(dose.strength_percent == 40);
  CHECK(dose.ml_per_litre == 4);
  CHECK(dose.grams_per_litre == Approx(0.266667));
  CHECK(dose.injector_ratio == 250);
  CHECK(dose.ppm_n == 40);
  CHECK(dose.ec == Approx(0.64));
  CHECK(dose.water_ec == 0.4);
  CHECK(dose.problem == DoseProblem::none);
  CHECK_FALSE((dose.over_alarm || dose.water_over_alarm));
}

TEST_CASE("Zero is plain water, more than full is full") {
  for (const double none : {0.0, -5.0, std::nan("")}) {
    const Dose plain = dose_at(a_full_strength(), none, {});
    CHECK((plain.strength_percent == 0 && plain.ml_per_litre == 0 && plain.grams_per_litre == 0));
    CHECK((plain.injector_ratio == 0 && plain.ppm_n == 0 && plain.ec == 0.4));
    CHECK(plain.problem == DoseProblem::none);
  }
  CHECK(dose_at(a_full_strength(), 140, {}) == dose_at(a_full_strength(), 100, {}));
  CHECK(dose_at(a_full_strength(), 100, {}).ml_per_litre == 10);
  CHECK(dose_at(a_full_strength(), 100, {}).ec == 1.0);
}

TEST_CASE("A pump's steps round down, and what is told is what is given") {
  DoseLimits limits;
  limits.step_ml_per_litre = 0.4;
  const Dose dose = dose_at(a_full_strength(), 35, limits);  // 3.5 mL asked for
  CHECK(dose.ml_per_litre == Approx(3.2));
  CHECK(dose.ppm_n == Approx(32));
  CHECK(dose.ec == Approx(0.592));
  CHECK(dose.injector_ratio == 312.5);
  limits.step_ml_per_litre = 0.1;  // a step that no binary fraction is: 30 steps, not 29
  CHECK(dose_at(a_full_strength(), 30, limits).ml_per_litre == 3);
}

TEST_CASE("What a pump cannot or may not give is plain water") {
  DoseLimits limits;
  limits.least_ml_per_litre = 3;
  limits.most_ml_per_litre = 8;
  const auto problem = [&](double percent) {
    const Dose dose = dose_at(a_full_strength(), percent, limits);
    const bool plain = dose.ml_per_litre == 0 && dose.ppm_n == 0 && dose.injector_ratio == 0 &&
                       dose.ec == 0.4 && dose.grams_per_litre == 0;
    CHECK(plain == (dose.problem != DoseProblem::none));
    return std::string(name_of(dose.problem));
  };
  CHECK(problem(29) == "too-little");
  CHECK(problem(30) == "");
  CHECK(problem(80) == "");
  CHECK(problem(81) == "too-much");
  limits.step_ml_per_litre = 2;  // 3 mL become 2
  CHECK(problem(30) == "too-little");
  limits = {};
  limits.step_ml_per_litre = 6;
  CHECK(problem(59) == "too-little");
  limits = {};
  limits.refusal_ec = 0.7;
  CHECK(problem(50) == "");
  CHECK(problem(51) == "over-refusal");
  limits.refusal_ec = 0.3;  // the water alone
  CHECK(problem(10) == "over-refusal");
  CHECK(dose_at(a_full_strength(), 0, limits).problem == DoseProblem::none);
}

TEST_CASE("The alarm limit is told of feed and of the water alone") {
  DoseLimits limits;
  limits.alarm_ec = 0.7;
  CHECK_FALSE(dose_at(a_full_strength(), 50, limits).over_alarm);
  const Dose over = dose_at(a_full_strength(), 51, limits);
  CHECK((over.over_alarm && !over.water_over_alarm && over.problem == DoseProblem::none));
  limits.alarm_ec = 0.39;
  const Dose water = dose_at(a_full_strength(), 0, limits);
  CHECK((water.water_over_alarm && !water.over_alarm));
}

TEST_CASE("A pump has the limits of the most sensitive of its benches") {
  const auto settings = house(
      ", recipe: growth, water: mixed, least_ml_per_litre: 1, most_ml_per_litre: 12, "
      "step_ml_per_litre: 0.5");
  const DoseLimits limits = limits_of(*settings, settings->pumps[0]);
  CHECK(limits.alarm_ec == 0.9);
  CHECK(limits.refusal_ec == 1.5);
  CHECK(limits.least_ml_per_litre == 1);
  CHECK(limits.most_ml_per_litre == 12.0);
  CHECK(limits.step_ml_per_litre == 0.5);
  Pump of_tolerant = settings->pumps[0];
  of_tolerant.benches = {"east"};
  CHECK(limits_of(*settings, of_tolerant).alarm_ec == 1.6);
  CHECK(limits_of(*settings, of_tolerant).refusal_ec == 2.1);
}

TEST_CASE("A pump's dose") {
  const auto settings = house(", recipe: growth, water: mixed, step_ml_per_litre: 0.5");
  const auto dose = dose_of(*settings, settings->pumps[0], 47);
  REQUIRE(dose);
  CHECK(dose->recipe == "growth");
  CHECK(dose->water == "mixed");
  CHECK(dose->ml_per_litre == 4.5);
  CHECK(dose->ppm_n == Approx(45));
  CHECK(dose->ec == Approx(0.456));
  CHECK_FALSE(dose_of(*house(""), house("")->pumps[0], 47));
}
