#include "engine/watering.h"

#include <fmt/format.h>

#include <cmath>

#include "common/json_text.h"
#include "engine/pump_share.h"
#include "engine/turn.h"
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
    return feeding::Reply{false, "in-the-future", "it has not happened yet; give an earlier time"};
  if (at < now - kToldLate)
    return feeding::Reply{false, "too-long-ago",
                          "it was more than 30 days ago and changes nothing any more"};
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
  const std::string last =
      never ? "none yet" : format_day_month(turn.settings.site.local(watered_));
  feeding::Evidence evidence;
  if (!never) evidence.time("last_watering", watered_);
  evidence.number("watering_days", days, 1);
  turn.notice(turn.now, b, Cause::no_watering, std::move(evidence),
              fmt::format("No watering of this bench was reported for {:.3g} days (last: {}). "
                          "Plants need water whatever the feed does: please check.",
                          never ? days : days_of(turn.now - watered_), last));
  dry_since_ = turn.now;  // told again after as many days
}

void Watering::advise_flush(std::size_t b, Instant t, double air_c, const Turn& turn) {
  const Bench& about = turn.settings.benches[b];
  if (flush_advised_ != kNever && t - flush_advised_ >= kAdviceStands) flush_l_ = 0;
  if (feeding::held_l(about) <= 0) flush_l_ = 0;  // its pots have left the settings
  if (!salts_.known() || feeding::held_l(about) <= 0) return;
  if (salts_.ec() <= alarm_ec(about)) flush_l_ = 0;
  const auto hold = turn.benches[b].feeding.hold();
  const bool opens = hold && hold->id != opened_hold_ && salts_.ec() > alarm_ec(about);
  const bool high = salts_.ec() > feeding::flush_above_ec(about) &&
                    (flush_advised_ == kNever || t - flush_advised_ >= kAdvisedAgain);
  const double warm_c = chill_floor_c(about) + kWarmMorning_c;
  if ((!opens && !high) || std::isnan(air_c) || air_c < warm_c)
    return;  // asked again tomorrow morning
  if (hold) opened_hold_ = hold->id;
  tell_flush(b, t, opens, air_c, turn);
}

void Watering::tell_flush(std::size_t b, Instant t, bool opens, double air_c, const Turn& turn) {
  const Bench& about = turn.settings.benches[b];
  const auto p = pump_of(turn.settings, b);
  const auto known_water =
      p ? feeding::water_ec_of(turn.settings, turn.settings.pumps[*p]) : std::nullopt;
  const double water_ec = known_water.value_or(
      0);  // as pure as it may be: a person is asked to look at the runoff anyway
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
  std::string text = fmt::format(
      "Salts are up in the pots: EC {:.1f} ± {:.1f} mS/cm{}. ", salts_.ec(), salts_.doubt_ec(),
      salts_.measured() == kNever ? ", estimated from the waterings alone" : "");
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
        feeding::words::amount(flush_l_), advice.again ? ", and again a week later" : "",
        chill_floor_c(about) + kWarmMorning_c);
  turn.notice(t, b, Cause::salts_up, std::move(evidence), std::move(text));
}

feeding::Reply Watering::take_watered(const feeding::Request& request, std::size_t b,
                                      const Turn& turn) {
  const Settings& settings = turn.settings;
  if (!request.litres || *request.litres <= 0)
    return {false, "litres-missing", "say how much, as `litres`"};
  const auto time = told_time(request, turn.now);
  if (const auto* refused = std::get_if<feeding::Reply>(&time)) return *refused;
  const Instant at = std::get<Instant>(time);
  const double percent = request.strength_percent.value_or(0);

  const auto p = pump_of(settings, b);
  const double ec = p ? hand_mixed_ec(settings, settings.pumps[*p], percent) : climate::kUnknown;
  water(*request.litres, ec, at, settings.benches[b]);
  const feeding::BenchFeeding& feeding = turn.benches[b].feeding;
  const auto share = feeding.effective(turn.now);
  // What it might have before its feed last changed is not known any more: nobody is blamed for
  // that.
  const bool too_strong = percent > share.percent && at >= feeding.changed();
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
    turn.notice(turn.now, b, Cause::fed_by_hand, std::move(evidence),
                fmt::format("{} watered by hand with feed at {:.0f} %, but the bench may have {}.",
                            request.who, percent, allowed));
  }
  std::string text = fmt::format("{} L at {:.0f} % noted for bench {}",
                                 feeding::words::amount(*request.litres), percent, request.bench);
  if (std::isnan(ec) && feeding::held_l(settings.benches[b]) > 0)
    text += "; its salts cannot be estimated without a recipe and a water of its pump";
  return {true, "",
          text + (too_strong ? fmt::format("; note that it may have {}.", allowed) : ".")};
}

feeding::Reply Watering::take_runoff(const feeding::Request& request, std::size_t b,
                                     const Turn& turn) {
  const Bench& about = turn.settings.benches[b];
  if (!request.ec) return {false, "ec-missing", "say what was measured, as `ec` in mS/cm"};
  const auto time = told_time(request, turn.now);
  if (const auto* refused = std::get_if<feeding::Reply>(&time)) return *refused;
  if (feeding::held_l(about) <= 0)
    return {false, "no-pots",
            fmt::format("the settings name no pots for bench {}; give pots and pot_litres, so that "
                        "salts can be estimated",
                        request.bench)};
  if (std::get<Instant>(time) < salts_.measured())
    return {false, "measured-since",
            "a later measurement is known already; this one would change nothing"};
  salts_.runoff(*request.ec, std::get<Instant>(time), about);
  std::string text =
      fmt::format("Runoff of EC {:.2f} noted; the pots are taken to hold EC {:.2f} ± {:.2f} mS/cm.",
                  *request.ec, salts_.ec(), salts_.doubt_ec());
  if (const double most = feeding::flush_above_ec(about); salts_.ec() > most)
    text += fmt::format(
        " That is above {:.1f}: a flush is advised on the next morning that is warm enough.", most);
  return {true, "", std::move(text)};
}

}  // namespace plainwater::engine
