// Properties of a dose for any recipe, water, pump and strength.
#include <rapidcheck.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

#include "feeding/dose.h"

using namespace plainwater;
using namespace plainwater::feeding;

namespace {

bool holds(const std::function<void()>& property) { return rc::check(property); }

/// A number in thousandths, as a person would write it.
double number(double least, double most) {
  return *rc::gen::inRange(static_cast<int>(least * 1000), static_cast<int>(most * 1000) + 1) /
         1000.0;
}

/// Made from ratio and target; the resulting stock can be dissolved.
Recipe random_recipe() {
  Recipe recipe;
  recipe.name = "any";
  recipe.nitrogen_percent = number(3, 30);
  recipe.ec_per_100ppm_n = number(0.05, 2);
  recipe.injector_ratio = number(5, 100);
  recipe.target_ppm_n = number(10, 300);
  return recipe;
}

FullStrength random_full() {
  const auto full = full_strength(random_recipe(), number(0, 2));
  RC_ASSERT(static_cast<bool>(full));
  return *full;
}

DoseLimits random_limits() {
  DoseLimits limits;
  limits.alarm_ec = number(0.3, 3);
  limits.refusal_ec = limits.alarm_ec + number(0.1, 3);
  limits.least_ml_per_litre = *rc::gen::element(0, 1) * number(0, 5);
  if (*rc::gen::arbitrary<bool>())
    limits.most_ml_per_litre = limits.least_ml_per_litre + number(1, 200);
  limits.step_ml_per_litre = *rc::gen::element(0.0, 0.01, 0.1, 0.25, 0.3, 1.0, 7.0);
  return limits;
}

/// A pump that tolerates and doses everything, in these steps.
DoseLimits unlimited(double step = 0) { return {1e6, 1e6, 0, std::nullopt, step}; }

bool near(double a, double b, double share, double margin = 1e-5) {
  return std::abs(a - b) <= margin + share * std::abs(b);
}

}  // namespace

TEST_CASE("A stronger order never gives less, within what the pump can do") {
  CHECK(holds([] {
    const FullStrength full = random_full();
    const DoseLimits limits = random_limits();
    double a = number(0, 100), b = number(0, 100);
    if (a > b) std::swap(a, b);
    const Dose weak = dose_at(full, a, limits), strong = dose_at(full, b, limits);
    const bool both_possible =
        weak.problem == DoseProblem::none && strong.problem == DoseProblem::none;
    RC_CLASSIFY(both_possible);
    if (!both_possible) return;
    RC_ASSERT(weak.ml_per_litre <= strong.ml_per_litre);
    RC_ASSERT(weak.ppm_n <= strong.ppm_n);
    RC_ASSERT(weak.ec <= strong.ec);
  }));
}

TEST_CASE("No dose passes full strength, the refusal limit or the pump's range") {
  CHECK(holds([] {
    const FullStrength full = random_full();
    const DoseLimits limits = random_limits();
    const Dose dose = dose_at(full, number(0, 300), limits);
    RC_ASSERT(dose.ml_per_litre <= full.ml_per_litre);
    RC_ASSERT(dose.ppm_n <= full.ppm_n);
    RC_ASSERT(dose.ec <= full.ec);
    if (dose.ml_per_litre > 0) {
      RC_ASSERT(dose.ec <= limits.refusal_ec);
      RC_ASSERT(dose.ml_per_litre >= limits.least_ml_per_litre);
      RC_ASSERT(dose.ml_per_litre <= limits.most_ml_per_litre.value_or(1e9));
      RC_ASSERT(dose.problem == DoseProblem::none);
    } else {
      RC_ASSERT(dose.ppm_n == 0.0);
      RC_ASSERT(dose.ec == full.water_ec);
    }
  }));
}

TEST_CASE(
    "Nothing is dosed at 0 %, and otherwise the strength asked for unless a problem is reported") {
  CHECK(holds([] {
    const FullStrength full = random_full();
    const DoseLimits limits = random_limits();
    const Dose plain = dose_at(full, 0, limits);
    RC_ASSERT((plain.ml_per_litre == 0 && plain.grams_per_litre == 0 && plain.injector_ratio == 0 &&
               plain.ppm_n == 0));
    RC_ASSERT(plain.problem == DoseProblem::none);
    const Dose some = dose_at(full, number(0.001, 100), limits);
    RC_ASSERT((some.ml_per_litre == 0) == (some.problem != DoseProblem::none));
  }));
}

TEST_CASE("A dose in steps is a whole number of them, at most one below the dose without steps") {
  CHECK(holds([] {
    const FullStrength full = random_full();
    const double step = *rc::gen::element(0.01, 0.1, 0.25, 0.3, 1.0, 7.0),
                 strength = number(0, 100);
    const Dose exact = dose_at(full, strength, unlimited()),
               stepped = dose_at(full, strength, unlimited(step));
    RC_ASSERT(stepped.ml_per_litre <= exact.ml_per_litre);
    RC_ASSERT(exact.ml_per_litre - stepped.ml_per_litre <= step + 1e-5);
    RC_ASSERT(near(stepped.ml_per_litre, std::round(stepped.ml_per_litre / step) * step, 0));
  }));
}

TEST_CASE("From ppm N to EC and back") {
  CHECK(holds([] {
    const Recipe by_ppm = random_recipe();
    const double water = number(0, 2);
    const auto there = full_strength(by_ppm, water);
    RC_ASSERT(static_cast<bool>(there));
    RC_ASSERT(near(there->ppm_n, *by_ppm.target_ppm_n, 1e-5));
    Recipe by_ec = by_ppm;
    by_ec.target_ppm_n.reset();
    by_ec.target_ec = there->ec;
    const auto back = full_strength(by_ec, water);
    RC_ASSERT(static_cast<bool>(back));
    RC_ASSERT(near(back->ppm_n, *by_ppm.target_ppm_n, 1e-5, 1e-4 / by_ppm.ec_per_100ppm_n));
    RC_ASSERT(near(back->ec, there->ec, 1e-5));
  }));
}

TEST_CASE("From ratio to stock and back, and from a dose to its ratio") {
  CHECK(holds([] {
    const Recipe by_ratio = random_recipe();
    const auto there = full_strength(by_ratio, 0);
    RC_ASSERT(static_cast<bool>(there));
    Recipe by_stock = by_ratio;
    by_stock.injector_ratio.reset();
    by_stock.stock_g_per_l = there->stock_g_per_l;
    const auto back = full_strength(by_stock, 0);
    RC_ASSERT(static_cast<bool>(back));
    RC_ASSERT(near(1000 / back->ml_per_litre, *by_ratio.injector_ratio, 1e-5));
    Recipe all = by_stock;
    all.injector_ratio = by_ratio.injector_ratio;
    RC_ASSERT(static_cast<bool>(full_strength(all, 0)));  // the three agree
    const Dose dose = dose_at(*there, number(1, 100), unlimited());
    RC_ASSERT(near(dose.injector_ratio * dose.ml_per_litre, 1000, 1e-4));
    RC_ASSERT(near(dose.grams_per_litre * by_ratio.nitrogen_percent * 10, dose.ppm_n, 1e-3,
                   1e-3));  // the same nitrogen computed by hand
  }));
}

TEST_CASE("A recipe whose three figures are 4 % apart is refused, whichever is wrong") {
  CHECK(holds([] {
    const Recipe recipe = random_recipe();
    const auto full = full_strength(recipe, 0);
    RC_ASSERT(static_cast<bool>(full));
    Recipe wrong = recipe;
    wrong.stock_g_per_l = full->stock_g_per_l;
    const double factor = *rc::gen::element(0.96, 1.04);
    switch (*rc::gen::inRange(0, 3)) {
      case 0: *wrong.stock_g_per_l *= factor; break;
      case 1: *wrong.injector_ratio *= factor; break;
      default: *wrong.target_ppm_n *= factor; break;
    }
    RC_ASSERT_FALSE(static_cast<bool>(full_strength(wrong, 0)));
  }));
}
