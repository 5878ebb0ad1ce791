// The present state of benches and pumps, for orders, placards and pages.
#include <algorithm>
#include <cmath>

#include "climate/vapour.h"
#include "engine/bench_places.h"
#include "engine/live_air.h"
#include "engine/sensor_phrases.h"
#include "engine/state.h"

namespace plainwater::engine {

namespace {

constexpr Span kBeside = hours(1);  ///< a value older than this is not shown as the newest

double newest_value(const climate::Series& series, Instant last) {
  const std::size_t n = series.size();
  return n == 0 || series.time(n - 1) < last - kBeside ? climate::kUnknown
                                                       : from_milli(series.value(n - 1));
}

SensorNow sensor_now(const Engine::State& s, std::size_t i, const std::string& bench) {
  const climate::SensorWatch& watch = s.sensors[i].watch;
  const bool trusted = watch.doubt == climate::Doubt::none;
  return {s.settings->sensors[i].name,
          trusted,
          engine::name_of(watch.doubt),
          s.sensors[i].newest,
          trusted ? kNever : watch.doubted_since,
          bench,
          newest_value(s.sensors[i].temperature, s.sensors[i].newest),
          newest_value(s.sensors[i].humidity, s.sensors[i].newest),
          watch.usual_interval().value_or(Span{}),
          watch.doubt == climate::Doubt::silent && s.sensors[i].back_since != kNever
              ? s.sensors[i].silence_due(s.settings->watch)
              : kNever};
}

void add_vapour(BenchNow& now) {
  const bool both = !std::isnan(now.temperature_c) && !std::isnan(now.humidity_rh);
  now.vpd_kpa = both ? climate::vapour_pressure_deficit_kpa(now.temperature_c, now.humidity_rh)
                     : climate::kUnknown;
  now.dew_point_c =
      both ? climate::dew_point_c(now.temperature_c, now.humidity_rh) : climate::kUnknown;
  now.absolute_humidity_gm3 =
      both ? climate::absolute_humidity_gm3(now.temperature_c, now.humidity_rh) : climate::kUnknown;
}

void add_night(const BenchState& state, BenchNow& now) {
  if (state.last_night >= 0) now.night = climate::Sun::date_of(state.last_night);
  now.night_mean_c = state.last.temperature.mean;
  now.night_minimum_c = state.last.temperature.minimum;
  now.night_coverage = state.last.temperature.coverage;
  now.day_mean_c = state.last.day.mean;
  now.day_maximum_c = state.last.day.maximum;
  now.dif_c = state.last.day.mean - state.last.temperature.mean;
  now.acclimated_c = state.season.acclimation.acclimated_c().value_or(climate::kUnknown);
  now.deficit_c = state.last_deficit_c;
  now.metabolic_rate = state.last_rate;
  now.counted_nights = static_cast<int>(state.season.acclimation.counted());
}

/// What people asked for, and are asked.
void add_asked(const feeding::BenchFeeding& feeding, Instant t, BenchNow& now) {
  now.announced = feeding.announced();
  now.holds_asked = feeding.holds_asked();
  if (const Instant until = feeding.exempt_until(); until > t) now.exempt_until = until;
  if (const Instant until = feeding.cold_passes_until(); until > t) now.cold_passes_until = until;
  now.questions = feeding.questions(t);
}

}  // namespace

BenchNow Engine::bench(std::size_t i) const {
  const State& s = *state_;
  const BenchState& state = s.benches[i];
  const Bench& settings = s.settings->benches[i];
  const auto share = state.feeding.effective(s.now);

  BenchNow now;
  now.name = settings.name;
  now.feeding = share.feeding;
  now.strength_percent = share.percent;
  now.cause = share.cause;
  now.because = state.feeding.because(s.now, state.season.moves);
  now.hold = state.feeding.hold();
  now.since = state.feeding.changed();

  const season::PositionWatch& watch = state.season.position;
  const bool fixed = settings.moves == Moves::never;
  now.place.moves = settings.moves;
  now.place.position = place_of(settings, state);
  now.place.last_known = fixed ? settings.place : watch.last_known();
  now.place.pattern = fixed ? season::Pattern::settled : state.season.moves.pattern();
  now.place.told = watch.told();
  now.place.probability = fixed ? 1 : watch.probability();
  now.place.since = fixed ? kNever : watch.since();
  const bool seen = watches_moves(*s.settings, settings) && watch.filter().last_look() != kNever;
  now.place.outdoor_offset_c =
      seen && watch.filter().has_outdoor() ? watch.filter().usual_outdoor_c() : climate::kUnknown;
  now.place.indoor_offset_c =
      seen && watch.filter().has_indoor() ? watch.filter().usual_indoor_c() : climate::kUnknown;

  const LiveAir air = s.begun ? live_air(settings, s.sensors, s.now, s.settings->watch) : LiveAir{};
  now.temperature_c = air.temperature_c;
  now.humidity_rh = air.humidity_rh;
  now.air_time = air.time;
  add_vapour(now);

  add_night(state, now);
  now.learning = state.feeding.season().learning();
  now.blind = state.feeding.blind_nights() >= s.settings->feeding.blind_reduced_nights;
  if (state.feeding.chilled()) {
    now.chilled_until = state.feeding.chilled_until();
    now.chilled_outdoors = state.feeding.chilled_outdoors();
  }
  now.plain_water_days_in_year = s.begun ? state.feeding.plain_days_in_year(s.now) : 0;
  const feeding::SaltBalance& salts = state.watering.salts();
  const bool known_salts = salts.known() && feeding::held_l(settings) > 0;
  now.salts_ec = known_salts ? salts.ec() : climate::kUnknown;
  now.salts_doubt_ec = known_salts ? salts.doubt_ec() : climate::kUnknown;
  now.flush_l = state.watering.flush_l();
  now.watered = state.watering.watered();
  now.dry_since = state.watering.dry_since();
  add_asked(state.feeding, s.now, now);
  for (const SensorId id : settings.sensors)
    now.sensors.push_back(sensor_now(s, index(id), settings.name));
  return now;
}

std::vector<SensorNow> Engine::sensors() const {
  const State& s = *state_;
  std::vector<SensorNow> out;
  for (std::size_t i = 0; i < s.sensors.size(); ++i) out.push_back(sensor_now(s, i, {}));
  for (const Bench& bench : s.settings->benches)
    for (const SensorId id : bench.sensors)
      if (std::string& first = out[index(id)].bench; first.empty()) first = bench.name;
  return out;
}

std::vector<std::string> Engine::gone() const {
  std::vector<std::string> names;
  for (const auto& [name, bench] : state_->succession.gone()) names.push_back(name);
  return names;
}

Absence::StillWaits Engine::State::still_waits() const {
  return [this](const Absence::Waiting& waiting) {
    if (waiting.cause == feeding::Cause::pump_untrusted) {
      const auto p = settings->heir_of_pump(waiting.about);
      return p && pumps.forbidden(*settings, *p, benches, now);
    }
    return std::ranges::any_of(settings->heirs_of_bench(waiting.about), [&](std::size_t heir) {
      return std::ranges::any_of(benches[heir].feeding.questions(now), [&](const auto& question) {
        return question.cause == feeding::name_of(waiting.cause);
      });
    });
  };
}

std::optional<AbsenceNow> Engine::absence() const {
  return state_->absence.now(state_->still_waits(), *state_->settings);
}

std::vector<BenchNow> Engine::benches() const {
  std::vector<BenchNow> out;
  for (std::size_t i = 0; i < state_->benches.size(); ++i) out.push_back(bench(i));
  return out;
}

const PumpNow* pump_of(const std::vector<PumpNow>& pumps, std::string_view bench) {
  for (const PumpNow& pump : pumps)
    if (std::ranges::find(pump.benches, bench) != pump.benches.end()) return &pump;
  return nullptr;
}

PumpNow Engine::pump(std::size_t i) const {
  const State& s = *state_;
  const PumpState& pump = s.pumps.all()[i];
  auto share = pump_share(*s.settings, i, s.benches, s.now);
  return {s.settings->pumps[i].name,
          s.pumps.armed(i, *s.settings),
          s.settings->pumps[i].benches,
          share.feeding,
          share.percent,
          std::move(share.limited_by),
          pump.behind.days(s.settings->pumps[i]),
          !s.pumps.forbidden(*s.settings, i, s.benches, s.now),
          pump.silent,
          pump.watch.last_report(),
          std::move(share.dose)};
}

std::vector<PumpNow> Engine::pumps() const {
  std::vector<PumpNow> out;
  for (std::size_t i = 0; i < state_->pumps.all().size(); ++i) out.push_back(pump(i));
  return out;
}

}  // namespace plainwater::engine
