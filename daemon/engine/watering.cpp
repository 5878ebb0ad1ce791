#include "engine/watering.h"

#include <cmath>

#include "common/json_text.h"
#include "engine/pump_share.h"
#include "engine/turn.h"
#include "feeding/pump_phrases.h"

namespace plainwater::engine {

using feeding::Cause;

namespace {

constexpr Span kToldLate = 30 * kDay;  // how long a person remembers a watering
constexpr Span kAdvisedAgain = 14 * kDay;
constexpr Span kAdviceStands = 7 * kDay;
constexpr double kWarmMorning_c = 3;  // °C above the chill floor: cold wet roots rot

/// EC of what a person mixed by hand, regardless of what the pump can dose and the bench may have;
/// NaN without recipe and water.
double hand_mixed_ec(const Settings& settings, const Pump& pump, double percent) {
  const auto water = feeding::water_ec_of(settings, pump);
  if (!water) return climate::kUnknown;
  if (percent <= 0) return *water;
  const auto full = feeding::full_strength_of(settings, pump);
  return full ? rounded(*water + percent / 100 * (full->ec - *water)) : climate::kUnknown;
}

/// The time that a person gave; now if left out.
std::variant<Instant, feeding::Reply> told_time(const feeding::Request& request, Instant now) {
  const Instant at = request.from.value_or(now);
  if (at > now + kFutureTolerance)
    return feeding::Reply{false, "in-the-future", words::say("request.in-the-future")};
  if (at < now - kToldLate)
    return feeding::Reply{false, "too-long-ago", words::say("request.too-long-ago")};
  return std::min(at, now);
}

}  // namespace

void Watering::watch_from(Instant now) {
  if (dry_since_ == kNever) dry_since_ = now;
}

void Watering::water(std::optional<double> litres, double ec, Instant t, const Bench& bench) {
  watered_ = std::max(watered_, t);
  dry_since_ = std::max(dry_since_, t);
  if (litres) salts_.water(*litres, ec, bench);
}

Instant Watering::dry_due(const Bench& bench) const {
  return bench.watering_days && dry_since_ != kNever ? dry_since_ + from_days(*bench.watering_days)
                                                     : kForever;
}

void Watering::tell_dry(std::size_t b, const Turn& turn) {
  const double days = *turn.settings.benches[b].watering_days;
  const bool never = watered_ == kNever;
  const words::Value last =
      never ? words::say("watering.none-yet")
            : words::day(turn.settings.site.local(watered_), turn.settings.site.local(turn.now));
  feeding::Evidence evidence;
  if (!never) evidence.time("last_watering", watered_);
  evidence.number("watering_days", days, 1);
  turn.notice(turn.now, b, Cause::no_watering, std::move(evidence),
              words::say("watering.none",
                         {{"days", words::figures(never ? days : days_of(turn.now - watered_))},
                          {"last", last}}) +
                  words::say("watering.none-please"));
  dry_since_ = turn.now;  // tell again after as many days
}

void Watering::advise_flush(std::size_t b, Instant t, double air_c, const Turn& turn) {
  const Bench& about = turn.settings.benches[b];
  if (flush_advised_ != kNever && t - flush_advised_ >= kAdviceStands) flush_l_ = 0;
  if (feeding::held_l(about) <= 0) flush_l_ = 0;  // its pots were removed from the settings
  if (!salts_.known() || feeding::held_l(about) <= 0) return;
  if (salts_.ec() <= alarm_ec(about)) flush_l_ = 0;
  const auto hold = turn.benches[b].feeding.hold();
  const bool opens = hold && hold->id != opened_hold_ && salts_.ec() > alarm_ec(about);
  const bool high = salts_.ec() > feeding::flush_above_ec(about) &&
                    (flush_advised_ == kNever || t - flush_advised_ >= kAdvisedAgain);
  const double warm_c = chill_floor_c(about) + kWarmMorning_c;
  if ((!opens && !high) || std::isnan(air_c) || air_c < warm_c)
    return;  // try again tomorrow morning
  if (hold) opened_hold_ = hold->id;
  tell_flush(b, t, opens, air_c, turn);
}

void Watering::tell_flush(std::size_t b, Instant t, bool opens, double air_c, const Turn& turn) {
  const Bench& about = turn.settings.benches[b];
  const auto p = pump_of(turn.settings, b);
  const auto known_water =
      p ? feeding::water_ec_of(turn.settings, turn.settings.pumps[*p]) : std::nullopt;
  const double water_ec = known_water.value_or(0);  // pure water: runoff is checked anyway
  const auto advice = feeding::flush_advice(salts_, water_ec, about);
  flush_advised_ = t;
  flush_l_ = advice.water_too_salty ? 0 : advice.litres;
  feeding::Evidence evidence;
  evidence.number("salts_ec", salts_.ec(), 2)
      .number("doubt_ec", salts_.doubt_ec(), 2)
      .number("above_ec", opens ? alarm_ec(about) : feeding::flush_above_ec(about), 2);
  if (known_water) evidence.number("water_ec", water_ec, 3);
  evidence.number("target_ec", advice.target_ec, 2)
      .number("litres", flush_l_, 1)
      .number("air_c", air_c, 1);
  if (salts_.measured() != kNever) evidence.time("runoff_measured", salts_.measured());
  if (opens) evidence.count("opens_hold", opened_hold_);
  turn.notice(t, b, Cause::salts_up, std::move(evidence),
              flush_in_words(advice, water_ec, opens, chill_floor_c(about) + kWarmMorning_c));
}

words::Sentence Watering::flush_in_words(const feeding::FlushAdvice& advice, double water_ec,
                                         bool opens, double warm_c) const {
  const words::Value salts = words::number(salts_.ec(), 1),
                     doubt = words::number(salts_.doubt_ec(), 1);
  words::Sentence said =
      salts_.measured() == kNever
          ? words::say("salts.up-estimated", {{"salts", salts}, {"doubt", doubt}})
          : words::say("salts.up", {{"salts", salts}, {"doubt", doubt}});
  if (advice.water_too_salty)
    return said + words::say("salts.water-too-salty", {{"ec", words::number(water_ec, 1)}});
  if (opens) said += words::say("salts.hold-begun");
  const words::Value litres = feeding::phrases::amount(flush_l_), warm = words::degrees(warm_c, 0);
  return said + (advice.again
                     ? words::say("salts.flush-twice", {{"litres", litres}, {"warm", warm}})
                     : words::say("salts.flush", {{"litres", litres}, {"warm", warm}}));
}

feeding::Reply Watering::take_watered(const feeding::Request& request, std::size_t b,
                                      const Turn& turn) {
  const Settings& settings = turn.settings;
  if (!request.litres || *request.litres <= 0)
    return {false, "litres-missing",
            words::say("request.litres-missing", {{"field", words::name("litres")}})};
  const auto time = told_time(request, turn.now);
  if (const auto* refused = std::get_if<feeding::Reply>(&time)) return *refused;
  const Instant at = std::get<Instant>(time);
  const double percent = request.strength_percent.value_or(0);

  const auto p = pump_of(settings, b);
  const double ec = p ? hand_mixed_ec(settings, settings.pumps[*p], percent) : climate::kUnknown;
  water(*request.litres, ec, at, settings.benches[b]);
  const feeding::BenchFeeding& feeding = turn.benches[b].feeding;
  const auto share = feeding.effective(turn.now);
  // What was allowed before the feed last changed is no longer known: blame nobody for that time.
  const bool too_strong = percent > share.percent && at >= feeding.changed();
  const words::Value allowed =
      share.percent == 0
          ? words::say("request.allowed-plain-water")
          : words::say("request.allowed-percent", {{"percent", words::count(share.percent)}});
  if (too_strong) {
    feeding::Evidence evidence;
    evidence.text("who", request.who)
        .text("request", request.id)
        .number("litres", *request.litres, 2)
        .number("strength_percent", percent, 0)
        .time("watered", at);
    evidence.count("allowed_percent", share.percent);
    turn.notice(turn.now, b, Cause::fed_by_hand, std::move(evidence),
                words::say("request.watered-by-hand", {{"who", words::name(request.who)},
                                                       {"percent", words::number(percent, 0)},
                                                       {"allowed", allowed}}));
  }
  words::Sentence noted =
      words::say("request.watered", {{"litres", feeding::phrases::amount(*request.litres)},
                                     {"percent", words::number(percent, 0)},
                                     {"bench", words::name(request.bench)}});
  if (std::isnan(ec) && feeding::held_l(settings.benches[b]) > 0)
    noted = words::say("request.watered-no-salts", {{"noted", noted}});
  return {true, "",
          too_strong
              ? words::say("request.watered-too-strong", {{"noted", noted}, {"allowed", allowed}})
              : words::say("request.watered-done", {{"noted", noted}})};
}

feeding::Reply Watering::take_runoff(const feeding::Request& request, std::size_t b,
                                     const Turn& turn) {
  const Bench& about = turn.settings.benches[b];
  if (!request.ec)
    return {false, "ec-missing", words::say("request.ec-missing", {{"field", words::name("ec")}})};
  const auto time = told_time(request, turn.now);
  if (const auto* refused = std::get_if<feeding::Reply>(&time)) return *refused;
  if (feeding::held_l(about) <= 0)
    return {false, "no-pots",
            words::say("request.no-pots", {{"bench", words::name(request.bench)},
                                           {"pots", words::name("pots")},
                                           {"litres", words::name("pot_litres")}})};
  if (std::get<Instant>(time) < salts_.measured())
    return {false, "measured-since", words::say("request.measured-since")};
  salts_.runoff(*request.ec, std::get<Instant>(time), about);
  words::Sentence said =
      words::say("request.runoff", {{"ec", words::number(*request.ec, 2)},
                                    {"salts", words::number(salts_.ec(), 2)},
                                    {"doubt", words::number(salts_.doubt_ec(), 2)}});
  if (const double most = feeding::flush_above_ec(about); salts_.ec() > most)
    said += words::say("request.runoff-high", {{"most", words::number(most, 1)}});
  return {true, "", std::move(said)};
}

}  // namespace plainwater::engine
