// The close of a cycle: each bench's night goes through season and feeding.
#include <cmath>

#include "common/json_text.h"
#include "engine/bench_places.h"
#include "engine/live_air.h"
#include "engine/night_close.h"
#include "engine/revising.h"
#include "engine/state.h"
#include "season/metabolic.h"

namespace plainwater::engine {
namespace {

constexpr double kSuspectLevel_c = 2.0;  // a frozen sensor may confirm a level, never make a drop
constexpr std::size_t kLevelNights = 7;

/// Whether the night counts.
bool counts(const climate::BenchNight& air, const season::Acclimation& acclimation,
            const SensorRules& rules) {
  if (air.temperature.coverage < rules.night_coverage) return false;
  if (!air.suspect) return true;
  const double level = acclimation.recent_c(kLevelNights);
  return std::isnan(level) || std::abs(air.temperature.mean - level) < kSuspectLevel_c;
}

}  // namespace

feeding::SeasonFacts Engine::State::season_facts(std::size_t b) {
  climate::Sun& sun = cycle.sun();
  const Bench& bench = settings->benches[b];
  const season::Acclimation& acclimation = benches[b].season.acclimation;
  feeding::SeasonFacts facts;
  facts.known_nights = acclimation.counted();
  facts.heard = !acclimation.nights().empty() &&
                cycle.night() - acclimation.nights().back().night <= feeding::kHeardNights;
  facts.learning = facts.known_nights < feeding::kLearningNights;
  facts.tropical = sun.tropical();
  facts.learning_gently =
      !facts.tropical && (sun.days_shorten(cycle.night()) || bench.nights_have_fallen);
  facts.light_h = cycle.light_h(bench);
  facts.n14_c = acclimation.recent_c(14);
  facts.group_night_c = group_night_c(bench);
  facts.growing_night_c =
      acclimation.growing_night_c(bench.summer_night_c.value_or(group_middle_c(bench.group)));
  return facts;
}

void Engine::State::close_bench(std::size_t b, const climate::BenchNight& night, const Turn& turn) {
  const Instant t = cycle.close_due();
  const Bench& about = settings->benches[b];
  BenchState& bench = benches[b];
  season::Acclimation& acclimation = bench.season.acclimation;
  const climate::Stretch& air = night.temperature;
  feeding::NightFacts facts;
  facts.time = t;
  facts.night = cycle.night();
  facts.air = night;
  facts.counted = counts(night, acclimation, settings->watch);
  if (facts.counted) facts.deficit_c = acclimation.take(facts.night, air.mean, settings->drops);
  facts.days_shorten = cycle.sun().days_shorten(facts.night);
  facts.long_days = cycle.sun().long_day_half(facts.night);
  facts.listened = !unheard;
  close_place(b, night, cycle, t, turn);
  facts.season = season_facts(b);
  facts.season.counted = facts.counted;

  NightRow row;
  row.acclimated_c = facts.deficit_c ? rounded(*facts.deficit_c + air.mean)
                                     : acclimation.acclimated_c().value_or(climate::kUnknown);
  row.deficit_c = facts.deficit_c.value_or(climate::kUnknown);
  row.metabolic_rate = facts.deficit_c ? season::relative_metabolic_rate(air.mean, row.acclimated_c)
                                       : climate::kUnknown;
  bench.last = night;
  bench.last_night = facts.night;
  bench.last_rate = row.metabolic_rate;
  bench.last_deficit_c = row.deficit_c;

  bench.feeding.take_night(facts, bench.season, turn.out.decisions);

  row.bench = about.name;
  row.night = climate::Sun::date_of(facts.night);
  row.sunset = cycle.sunset();
  row.sunrise = cycle.sunrise();
  row.coverage = air.coverage;
  row.counted = facts.counted;
  row.mean_c = air.mean;
  row.minimum_c = air.minimum;
  row.mean_rh = night.mean_rh;
  row.position = take_night_place(about, bench, cycle);
  const auto share = bench.feeding.effective(t);
  row.feeding = share.feeding;
  row.strength_percent = share.percent;
  bench.last_row = row;
  turn.out.nights.push_back(std::move(row));
}

void Engine::State::close_cycle(const Turn& turn) {
  const Instant t = cycle.close_due();
  NightClose close(sensors, cycle, t, turn);
  close.judge_sensors();
  for (std::size_t b = 0; b < benches.size(); ++b) {
    revise_last_night(b, cycle.night(), sensors, t, turn);
    close_bench(b, close.sum_up(settings->benches[b]), turn);
  }
  for (std::size_t b = 0; b < benches.size(); ++b) {
    const double air_c = live_air(settings->benches[b], sensors, t, settings->watch).temperature_c;
    benches[b].watering.advise_flush(b, t, air_c, turn);
  }
  pumps.count_days_behind(t, turn);
  cycle.go_on();
  for (SensorState& sensor : sensors) sensor.forget_before(cycle.kept_from());
}

}  // namespace plainwater::engine
