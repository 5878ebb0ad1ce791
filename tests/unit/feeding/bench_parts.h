// A bench for tests of one part of its feeding: the part is handed a moment, and what it told and
// changed is looked at.
#pragma once

#include <catch2/catch.hpp>

#include "feeding/bench_moment.h"

namespace plainwater::feeding {

struct BenchParts {
  Settings settings;
  Allowance allowance;
  HoldLimits limits;
  Questions questions;
  season::BenchSeason season;
  std::vector<Decision> out;

  BenchParts() {
    Bench bench;
    bench.name = "long";
    bench.group = Group::intermediate;
    bench.moves = Moves::watched;
    settings.benches.push_back(bench);
    allowance.begun = true;
    SeasonFacts growing;
    growing.light_h = 14;
    allowance.season.take_night(growing, Instant{}, settings.feeding);
  }
  Teller teller(Instant t) { return {settings.benches[0], settings, allowance.holds, t, out}; }
  BenchMoment at(Instant t) { return {teller(t), allowance, limits, questions, season}; }
};

/// Noon of the `n`th day.
inline Instant day_n(int n) { return from_seconds(1'789'300'800) + n * kDay; }

/// Air of so many °C for four hours.
inline ColdStretch cold_until(Instant t, double air_c) { return {t - hours(4), t, air_c, air_c}; }

/// A fall from 18 °C to `landing_c`.
inline season::Drop fall_to(double landing_c) {
  season::Drop drop;
  drop.base_c = drop.before_c = 18;
  drop.landing_c = landing_c;
  drop.acclimated_c = 16.5;
  drop.deficit_c = 5;
  return drop;
}

}  // namespace plainwater::feeding
