// What the pots of a bench got, and what is advised about it.
#include <fmt/format.h>

#include <cmath>

#include "common/json_text.h"
#include "engine/state.h"
#include "feeding/pump_words.h"

namespace plainwater::engine {

using feeding::Cause;

namespace {

constexpr Span kToldLate = 30 * kDay;  // a person remembers a watering for so long
constexpr Span kAdvisedAgain = 14 * kDay;
constexpr Span kAdviceStands = 7 * kDay;
constexpr double kWarmMorning_c = 3;  // above the chill floor: cold wet roots rot

/// EC of what a person mixed by hand, whatever the pump can dose and the bench may have; NaN
/// without recipe and water.
double hand_mixed_ec(const Settings& settings, const Pump& pump, double percent) {
  const auto water = feeding::water_ec_of(settings, pump);
  if (!water) return climate::kUnknown;
  if (percent <= 0) return *water;
  const auto full = feeding::full_strength_of(settings, pump);
  return full ? rounded(*water + percent / 100 * (full->ec - *water)) : climate::kUnknown;
}

/// When a person says it was; now when left out.
std::variant<Instant, feeding::Reply> told_time(const feeding::Request& request, Instant now) {
  const Instant at = request.from.value_or(now);
  if (at > now + kFutureTolerance)
    return feeding::Reply{false, "in-the-future",
                          "what has not happened yet cannot be told; give an earlier time"};
  if (at < now - kToldLate)
    return feeding::Reply{false, "too-long-ago",
                          "it was more than 30 days ago; nothing is changed by it any more"};
  return std::min(at, now);
}

}  // namespace

void Engine::State::water(std::size_t b, std::optional<double> litres, double ec, Instant t) {
  WateringState& bench = benches[b].watering;
  bench.watered = std::max(bench.watered, t);
  bench.dry_since = std::max(bench.dry_since, t);
  if (litres) bench.salts.water(*litres, ec, settings->benches[b]);
}

Instant Engine::State::dry_due(std::size_t b) const {
  const auto& days = settings->benches[b].watering_days;
  const Instant since = benches[b].watering.dry_since;
  return days && since != kNever ? since + from_days(*days) : kForever;
}

void Engine::State::tell_dry(std::size_t b, Outcome& out) {
  WateringState& bench = benches[b].watering;
  const std::string last =
      bench.watered == kNever ? "none yet" : format_day_month(settings->site.local(bench.watered));
  feeding::Evidence evidence;
  if (bench.watered != kNever) evidence.time("last_watering", bench.watered);
  evidence.number("watering_days", *settings->benches[b].watering_days, 1);
  tell_notice(out, now, b, Cause::no_watering, std::move(evidence),
              fmt::format("No watering of this bench was reported for {:.3g} days (last: {}). "
                          "Watering goes on whatever the feed does: please look.",
                          bench.watered == kNever ? *settings->benches[b].watering_days
                                                  : days_of(now - bench.watered),
                          last));
  bench.dry_since = now;  // told again after as many days
}

void Engine::State::advise_flush(std::size_t b, Instant t, Outcome& out) {
  WateringState& bench = benches[b].watering;
  const Bench& about = settings->benches[b];
  if (bench.flush_advised != kNever && t - bench.flush_advised >= kAdviceStands) bench.flush_l = 0;
  if (feeding::held_l(about) <= 0) bench.flush_l = 0;  // its pots have left the settings
  if (!bench.salts.known() || feeding::held_l(about) <= 0) return;
  if (bench.salts.ec() <= alarm_ec(about)) bench.flush_l = 0;
  const auto hold = benches[b].feeding.hold();
  const bool opens = hold && hold->id != bench.opened_hold && bench.salts.ec() > alarm_ec(about);
  const bool high = bench.salts.ec() > feeding::flush_above_ec(about) &&
                    (bench.flush_advised == kNever || t - bench.flush_advised >= kAdvisedAgain);
  const double air_c = air(b, t).temperature_c;
  const double warm_c = chill_floor_c(about) + kWarmMorning_c;
  if ((!opens && !high) || std::isnan(air_c) || air_c < warm_c)
    return;  // asked again tomorrow morning

  const auto p = pump_of(b);
  const auto known_water = p ? feeding::water_ec_of(*settings, settings->pumps[*p]) : std::nullopt;
  const double water_ec = known_water.value_or(
      0);  // as pure as it may be: a person is asked to look at the runoff anyway
  const auto advice = feeding::flush_advice(bench.salts, water_ec, about);
  bench.flush_advised = t;
  bench.flush_l = advice.water_too_salty ? 0 : advice.litres;
  if (hold) bench.opened_hold = hold->id;
  feeding::Evidence evidence;
  evidence.number("salts_ec", bench.salts.ec(), 2)
      .number("doubt_ec", bench.salts.doubt_ec(), 2)
      .number("above_ec", opens ? alarm_ec(about) : feeding::flush_above_ec(about), 2);
  if (known_water) evidence.number("water_ec", water_ec, 3);
  evidence.number("target_ec", advice.target_ec, 2)
      .number("litres", bench.flush_l, 1)
      .number("air_c", air_c, 1);
  if (bench.salts.measured() != kNever) evidence.time("runoff_measured", bench.salts.measured());
  if (opens) evidence.count("opens_hold", hold->id);
  std::string text =
      fmt::format("Salts are up in the pots: EC {:.1f} ± {:.1f} mS/cm{}. ", bench.salts.ec(),
                  bench.salts.doubt_ec(),
                  bench.salts.measured() == kNever ? ", reckoned from the waterings alone" : "");
  if (advice.water_too_salty)
    text += fmt::format(
        "This water has EC {:.1f} itself and cannot wash them out: flush with rain or "
        "reverse-osmosis water.",
        water_ec);
  else
    text += fmt::format(
        "{}Flush with about {} L of plain water{}, on this or another morning that is {:.0f} °C or "
        "warmer, until it runs from the pots.",
        opens ? "A hold has begun, and salts grow stronger as pots dry. " : "",
        feeding::words::amount(bench.flush_l), advice.again ? ", and again a week later" : "",
        warm_c);
  tell_notice(out, t, b, Cause::salts_up, std::move(evidence), std::move(text));
}

feeding::Reply Engine::State::take_watered(const feeding::Request& request, std::size_t b,
                                           Outcome& out) {
  if (!request.litres || *request.litres <= 0)
    return {false, "litres-missing", "say how much, as `litres`"};
  const auto time = told_time(request, now);
  if (const auto* refused = std::get_if<feeding::Reply>(&time)) return *refused;
  const Instant at = std::get<Instant>(time);
  const double percent = request.strength_percent.value_or(0);

  const auto p = pump_of(b);
  const double ec = p ? hand_mixed_ec(*settings, settings->pumps[*p], percent) : climate::kUnknown;
  water(b, *request.litres, ec, at);
  const auto share = benches[b].feeding.effective(now);
  // What it might have before its feed last changed is not known any more: nobody is blamed for
  // that.
  const bool too_strong = percent > share.percent && at >= benches[b].feeding.changed();
  const std::string allowed =
      share.percent == 0 ? "plain water only" : fmt::format("{} % only", share.percent);
  if (too_strong) {
    feeding::Evidence evidence;
    evidence.text("who", request.who)
        .text("request", request.id)
        .number("litres", *request.litres, 2)
        .number("strength_percent", percent, 0)
        .time("watered", at);
    evidence.count("allowed_percent", share.percent);
    tell_notice(
        out, now, b, Cause::fed_by_hand, std::move(evidence),
        fmt::format("{} watered by hand with feed at {:.0f} %, while the bench may have {}.",
                    request.who, percent, allowed));
  }
  std::string text = fmt::format("{} L at {:.0f} % noted for bench {}",
                                 feeding::words::amount(*request.litres), percent, request.bench);
  if (std::isnan(ec) && feeding::held_l(settings->benches[b]) > 0)
    text += "; its salts cannot be reckoned without a recipe and a water of its pump";
  return {true, "",
          text + (too_strong ? fmt::format("; mind that it may have {}.", allowed) : ".")};
}

feeding::Reply Engine::State::take_runoff(const feeding::Request& request, std::size_t b) {
  if (!request.ec) return {false, "ec-missing", "say what was measured, as `ec` in mS/cm"};
  const auto time = told_time(request, now);
  if (const auto* refused = std::get_if<feeding::Reply>(&time)) return *refused;
  if (feeding::held_l(settings->benches[b]) <= 0)
    return {false, "no-pots",
            fmt::format("the settings tell no pots of bench {}; give pots and pot_litres, so that "
                        "salts can be reckoned",
                        request.bench)};
  feeding::SaltBalance& salts = benches[b].watering.salts;
  if (std::get<Instant>(time) < salts.measured())
    return {false, "measured-since",
            "a later measurement is known already; this one would change nothing"};
  salts.runoff(*request.ec, std::get<Instant>(time), settings->benches[b]);
  std::string text =
      fmt::format("Runoff of EC {:.2f} noted; the pots are taken to hold EC {:.2f} ± {:.2f} mS/cm.",
                  *request.ec, salts.ec(), salts.doubt_ec());
  if (const double most = feeding::flush_above_ec(settings->benches[b]); salts.ec() > most)
    text += fmt::format(
        " That is above {:.1f}: a flush is advised on the next morning that is warm enough.", most);
  return {true, "", std::move(text)};
}

}  // namespace plainwater::engine
