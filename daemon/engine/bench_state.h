// What the engine remembers of one bench.
#pragma once

#include "climate/fusion.h"
#include "engine/engine.h"
#include "engine/shuttle_week.h"
#include "engine/stays.h"
#include "engine/watering.h"
#include "feeding/bench_feeding.h"
#include "season/bench_season.h"

namespace plainwater::engine {

struct BenchState {
  season::BenchSeason season;
  feeding::BenchFeeding feeding;
  climate::BenchNight last;      ///< the last closed night
  std::int64_t last_night = -1;  ///< its solar day
  double last_rate = climate::kUnknown;
  double last_deficit_c = climate::kUnknown;
  NightRow last_row;          ///< as reported, for a revision
  bool disagreement = false;  ///< people know that its two sensors disagree
  Stays stays;
  Watering watering;
  ShuttleWeek week;
  std::map<std::string, climate::DriftWatch>
      drift;  ///< by sensor: how it compares with the bench's others

  BenchState(const Bench* bench, const Settings* settings) : feeding(bench, settings) {}

  template <class A>
  void fields(A& a) {
    a(season);
    a(feeding);
    a(watering);
    a(last.temperature.coverage);
    a(last.temperature.mean);
    a(last.temperature.minimum);
    a(last.temperature.maximum);
    a(last.day.coverage);
    a(last.day.mean);
    a(last.day.minimum);
    a(last.day.maximum);
    a(last.mean_rh);
    a(last.vpd_kpa);
    a(last.suspect);
    a.day(last_night);
    a(last_rate);
    a(last_deficit_c);
    a(disagreement);
    a(drift);
    a(stays);
    a(week);
    a(last_row.bench);
    a(last_row.night);
    a(last_row.sunset);
    a(last_row.sunrise);
    a(last_row.coverage);
    a(last_row.counted);
    a(last_row.mean_c);
    a(last_row.minimum_c);
    a(last_row.mean_rh);
    a(last_row.acclimated_c);
    a(last_row.deficit_c);
    a(last_row.metabolic_rate);
    a(last_row.position);
    a(last_row.feeding);
    a(last_row.strength_percent);
  }
};

using Benches = std::vector<BenchState>;  ///< in the settings' order

}  // namespace plainwater::engine
