#include "engine/pumps.h"

#include <fmt/format.h>

#include <algorithm>

#include "settings/known_bench.h"
#include "settings/unknown_name.h"

namespace plainwater::engine {

using feeding::Cause;

namespace {

/// Everything that a dose depends on, to notice when the mix changes.
std::string mix_of(const Settings& settings, const Pump& pump) {
  const auto full = feeding::full_strength_of(settings, pump);
  if (!full) return {};
  return fmt::format(
      "{}, {}, {:.4f} mL/L, {:.2f} ppm N, EC {:.3f} on {:.3f}; {:.4f} to {:.4f} by {:.4f} mL/L",
      pump.recipe, settings.recipe(pump.recipe)->label, full->ml_per_litre, full->ppm_n, full->ec,
      full->water_ec, pump.least_ml_per_litre, pump.most_ml_per_litre.value_or(0),
      pump.step_ml_per_litre);
}

/// The benches of the pump that a report is about: the named one, or all.
std::vector<std::size_t> watered_by(const Settings& settings, const Pump& pump,
                                    const std::string& named) {
  std::vector<std::size_t> out;
  for (const std::string& name : pump.benches)
    if (named.empty() || name == named) out.push_back(known_bench(settings, name));
  return out;
}

/// What is needed to judge a report of the pump for the time `at`.
feeding::PumpContext context_of(const Pump& pump, Instant at, const Turn& turn) {
  feeding::PumpContext context;
  context.pump = &pump;
  context.limits = feeding::limits_of(turn.settings, pump);
  for (const std::string& name : pump.benches)  // the pump's day counts water for all of them
    context.flush_l += turn.benches[known_bench(turn.settings, name)].watering.flush_l();
  context.order_valid = seconds(turn.settings.feeding.order_valid_s);
  context.water_ec = feeding::water_ec_of(turn.settings, pump);
  context.full = feeding::full_strength_of(turn.settings, pump);
  context.local_day = std::chrono::floor<std::chrono::days>(turn.settings.site.local(at))
                          .time_since_epoch()
                          .count();
  return context;
}

/// Shares what was given among the benches, by their pots if the settings give pots for all.
void water(const std::vector<std::size_t>& benches, const feeding::DoseReport& report,
           const feeding::DoseJudged& judged, Instant at, const Turn& turn) {
  double held = 0;
  bool all_tell_pots = true;
  for (const std::size_t b : benches) {
    const double own = feeding::held_l(turn.settings.benches[b]);
    held += own;
    all_tell_pots = all_tell_pots && own > 0;
  }
  const auto& given = judged.given;
  const bool told_of_water =
      given.litres ? *given.litres > 0
                   : !report.litres_total &&
                         (report.strength_percent || report.ec || given.feed_ml.value_or(0) > 0);
  for (const std::size_t b : benches) {
    const Bench& bench = turn.settings.benches[b];
    Watering& watering = turn.benches[b].watering;
    const double part =
        all_tell_pots ? feeding::held_l(bench) / held : 1.0 / static_cast<double>(benches.size());
    if (told_of_water)
      watering.water(given.litres ? std::optional(*given.litres * part) : std::nullopt, judged.ec,
                     at, bench);
    if (report.runoff_ec) watering.runoff(*report.runoff_ec, at, bench);
  }
}

void forbid(const Pump& pump, bool forbidden, const Turn& turn) {
  for (const std::string& name : pump.benches)
    turn.benches[known_bench(turn.settings, name)].feeding.forbid(forbidden, turn.now,
                                                                  turn.out.decisions);
}

}  // namespace

void Pumps::note_commands(const Settings& settings, const Benches& benches, Instant now) {
  for (std::size_t p = 0; p < pumps_.size(); ++p)
    pumps_[p].watch.command({now, pump_share(settings, p, benches, now).percent, pumps_[p].armed},
                            settings.pumps[p].line_l);
}

void Pumps::look_at(bool settled, const Succession& succession, const Turn& turn) {
  looked_at_ = true;
  for (std::size_t p = 0; p < pumps_.size(); ++p) {
    if (pumps_[p].heard == kNever) pumps_[p].heard = turn.now;
    const bool armed = pumps_[p].armed;
    compare_mix(p, turn);
    compare_benches(p, armed, succession, turn);
    pumps_[p].behind.follow(turn.settings.pumps[p], turn.settings, succession.gone());
  }
  for (std::size_t b = 0; b < turn.benches.size(); ++b) {
    turn.benches[b].watering.watch_from(turn.now);
    // A renamed pump is the same pump: only a person can lift its ban.
    feeding::BenchFeeding& fed = turn.benches[b].feeding;
    const auto p = pump_of(turn.settings, b);
    if (p && !pumps_[*p].watch.trusted()) fed.forbid(true, turn.now, turn.out.decisions);
    if (!p && settled) fed.forbid(false, turn.now, turn.out.decisions);
  }
  note_commands(turn.settings, turn.benches, turn.now);
}

void Pumps::compare_mix(std::size_t p, const Turn& turn) {
  PumpState& pump = pumps_[p];
  const Pump& about = turn.settings.pumps[p];
  std::string mix = mix_of(turn.settings, about);
  if (pump.armed && pump.mix != mix) {
    feeding::Evidence evidence;
    evidence.text("pump", about.name).text("armed_with", pump.mix).text("now", mix);
    put_on_advice(p, Cause::recipe_changed, std::move(evidence),
                  words::say("pump.on-advice-again", {{"pump", words::name(about.name)}}), turn);
  }
  pump.mix = std::move(mix);
}

bool Pumps::armed(std::size_t p, const Settings& settings) const {
  const PumpState& pump = pumps_[p];
  return pump.armed && (looked_at_ || (!other_benches(p, settings) &&
                                       pump.mix == mix_of(settings, settings.pumps[p])));
}

bool Pumps::other_benches(std::size_t p, const Settings& settings) const {
  const PumpState& pump = pumps_[p];
  if (pump.benches.empty()) return false;  // not known from before
  std::vector<std::string> now = settings.pumps[p].benches, kept;
  for (const std::string& former : pump.benches)
    for (const std::size_t heir : settings.heirs_of_bench(former))
      kept.push_back(settings.benches[heir].name);
  std::ranges::sort(now);
  std::ranges::sort(kept);
  return kept != now || pump.benches.size() != now.size();
}

void Pumps::compare_benches(std::size_t p, bool armed, const Succession& succession,
                            const Turn& turn) {
  PumpState& pump = pumps_[p];
  const Pump& about = turn.settings.pumps[p];
  const bool changed = other_benches(p, turn.settings);
  std::vector<std::string> now = about.benches;
  std::ranges::sort(now);
  for (const std::string& former : pump.benches)
    if (turn.settings.heirs_of_bench(former).empty()) pump.lost.push_back(former);
  std::erase_if(pump.lost,
                [&](const std::string& bench) { return !succession.gone().contains(bench); });
  if (armed && changed) {
    feeding::Evidence evidence;
    evidence.text("pump", about.name)
        .text("armed_for", fmt::format("{}", fmt::join(pump.benches, ", ")))
        .text("now", fmt::format("{}", fmt::join(now, ", ")));
    put_on_advice(p, Cause::benches_changed, std::move(evidence),
                  words::say("pump.other-benches", {{"pump", words::name(about.name)}}), turn);
  }
  pump.benches = std::move(now);
}

void Pumps::put_on_advice(std::size_t p, Cause cause, feeding::Evidence evidence,
                          words::Sentence said, const Turn& turn) {
  pumps_[p].armed = false;
  tell(p, "", cause, std::move(evidence), said + words::say("pump.on-advice-again-please"), turn);
}

void Pumps::forget(const std::string& bench) {
  for (PumpState& pump : pumps_) std::erase(pump.lost, bench);
  for (auto& [name, pump] : gone_) std::erase(pump.lost, bench);
}

void Pumps::keep_gone(const std::string& name, PumpState state) {
  // Whoever takes it in again arms it anew.
  state.armed = false;
  gone_.insert_or_assign(name, std::move(state));
}

void Pumps::tell(std::size_t p, std::string bench, Cause cause, feeding::Evidence evidence,
                 words::Sentence said, const Turn& turn) const {
  feeding::Decision d;
  d.time = turn.now;
  d.bench = std::move(bench);
  d.cause = cause;
  const auto share = pump_share(turn.settings, p, turn.benches, turn.now);
  d.feeding = share.feeding;
  d.strength_percent = share.percent;
  d.evidence = std::move(evidence);
  d.said = std::move(said);
  turn.tell(std::move(d));
}

Instant Pumps::silence_due(const Settings& settings, std::size_t p) const {
  const auto& silent_h = settings.pumps[p].silent_h;
  return silent_h && !pumps_[p].silent && pumps_[p].heard != kNever
             ? pumps_[p].heard + from_days(*silent_h / 24)
             : kForever;
}

void Pumps::tell_silence(std::size_t p, const Turn& turn) {
  const Pump& about = turn.settings.pumps[p];
  pumps_[p].silent = true;
  feeding::Evidence evidence;
  evidence.text("pump", about.name)
      .time("last_heard", pumps_[p].heard)
      .number("silent_hours", *about.silent_h, 1);
  tell(p, "", Cause::pump_silent, std::move(evidence),
       words::say("pump.silent",
                  {{"pump", words::name(about.name)}, {"hours", words::figures(*about.silent_h)}}) +
           words::say("pump.silent-please"),
       turn);
}

void Pumps::hear(std::size_t p, const Turn& turn) {
  PumpState& pump = pumps_[p];
  const std::string& name = turn.settings.pumps[p].name;
  if (pump.silent) {
    feeding::Evidence evidence;
    evidence.text("pump", name).time("last_heard", pump.heard);
    tell(p, "", Cause::pump_reports, std::move(evidence),
         words::say("pump.reports-again", {{"pump", words::name(name)}}), turn);
  }
  pump.silent = false;
  pump.heard = turn.now;
}

void Pumps::tell_wrong_clock(std::size_t p, Instant reported, const Turn& turn) {
  Instant& told = pumps_[p].clock_told;
  if (told != kNever && turn.now - told < kDay) return;
  told = turn.now;
  const std::string& name = turn.settings.pumps[p].name;
  feeding::Evidence evidence;
  evidence.text("pump", name).time("reported", reported);
  tell(p, "", Cause::pump_clock, std::move(evidence),
       words::say("pump.wrong-clock",
                  {{"pump", words::name(name)},
                   {"date", words::name(format_date(turn.settings.site.local(reported)))}}) +
           words::say("pump.wrong-clock-please"),
       turn);
}

bool Pumps::forbidden(const Settings& settings, std::size_t p, const Benches& benches,
                      Instant now) const {
  return !pumps_[p].watch.trusted() ||
         std::ranges::any_of(settings.pumps[p].benches, [&](const std::string& name) {
           const BenchState& bench = benches[known_bench(settings, name)];
           return bench.feeding.effective(now).cause == Cause::pump_untrusted;
         });
}

TakenDose Pumps::take(const feeding::DoseReport& told, const Turn& turn) {
  const auto p = turn.settings.heir_of_pump(told.pump);  // it may still use former names
  if (!p) return TakenDose::unknown;
  const Pump& about = turn.settings.pumps[*p];
  feeding::DoseReport report = told;
  report.pump = about.name;
  if (!report.bench.empty()) {
    const auto heirs = turn.settings.heirs_of_bench(report.bench);
    if (heirs.size() != 1) return TakenDose::unknown;
    report.bench = turn.settings.benches[heirs.front()].name;
    if (!about.feeds(report.bench)) return TakenDose::unknown;
  }
  const feeding::PumpWatch& watch = pumps_[*p].watch;
  if (watch.seen(report)) return TakenDose::repeated;
  if (!watch.too_old(report, turn.now)) {
    const std::size_t first = turn.out.decisions.size();
    hear(*p, turn);
    judge(*p, report, first, turn);
    return TakenDose::used;
  }
  if (report.time <
      turn.now - feeding::kReportsKept) {  // otherwise it is from before the first orders
    hear(*p, turn);
    tell_wrong_clock(*p, report.time, turn);
  }
  return TakenDose::history;
}

void Pumps::judge(std::size_t p, const feeding::DoseReport& report, std::size_t first,
                  const Turn& turn) {
  const Pump& about = turn.settings.pumps[p];
  const Instant at = std::min(report.time, turn.now);
  auto judged = pumps_[p].watch.take(report, turn.now, context_of(about, at, turn));
  for (auto& finding : judged.findings)
    tell(p, report.bench, finding.cause, std::move(finding.evidence), std::move(finding.said),
         turn);
  water(watered_by(turn.settings, about, report.bench), report, judged, at, turn);
  const std::size_t told = turn.out.decisions.size();
  if (judged.lost_trust) forbid(about, true, turn);
  // The report's decisions show the feed to which it led.
  const auto share = pump_share(turn.settings, p, turn.benches, turn.now);
  for (std::size_t i = first; i < told; ++i) {
    turn.out.decisions[i].feeding = share.feeding;
    turn.out.decisions[i].strength_percent = share.percent;
  }
}

void Pumps::count_days_behind(Instant t, const Turn& turn) {
  for (std::size_t p = 0; p < pumps_.size(); ++p)
    pumps_[p].behind.count(turn.settings.pumps[p],
                           pump_share(turn.settings, p, turn.benches, turn.now), t, turn);
}

feeding::Reply Pumps::take(const feeding::Request& request, const Turn& turn) {
  using feeding::RequestKind;
  const auto p = turn.settings.heir_of_pump(request.pump);
  if (!p) return {false, "unknown-pump", no_such_pump(turn.settings, request.pump)};
  PumpState& pump = pumps_[*p];
  const bool untrusted = forbidden(turn.settings, *p, turn.benches, turn.now);
  feeding::Evidence evidence;
  evidence.text("who", request.who)
      .text("request", request.id)
      .text("pump", turn.settings.pumps[*p].name);
  if (!request.note.empty()) evidence.text("note", request.note);
  words::Sentence said;
  const words::Value named = words::name(turn.settings.pumps[*p].name),
                     who = words::name(request.who);
  Cause cause = Cause::grower;
  if (request.kind == RequestKind::trust) {
    if (!untrusted)
      return {false, "trusted-already",
              words::say("request.pump-trusted-already", {{"pump", named}})};
    pump.watch.trust(turn.now);
    forbid(turn.settings.pumps[*p], false, turn);
    cause = Cause::pump_trusted;
    said = pump.armed ? words::say("request.pump-trusted-armed", {{"pump", named}, {"who", who}})
                      : words::say("request.pump-trusted", {{"pump", named}, {"who", who}});
  } else if (request.kind == RequestKind::arm) {
    if (untrusted)
      return {
          false, "pump-untrusted",
          words::say("request.pump-untrusted", {{"pump", named}, {"trust", words::name("trust")}})};
    if (!pump.lost.empty())
      return {
          false, "bench-gone",
          words::say("request.pump-bench-gone", {{"pump", named},
                                                 {"bench", words::name(pump.lost.front())},
                                                 {"was", words::name("was: " + pump.lost.front())},
                                                 {"retire", words::name("retire")}})};
    pump.armed = true;
    if (!pump.mix.empty()) evidence.text("mix", pump.mix);
    said = words::say("request.pump-armed", {{"pump", named}, {"who", who}});
  } else {
    pump.armed = false;
    said = words::say("request.pump-disarmed", {{"pump", named}, {"who", who}});
  }
  tell(*p, "", cause, std::move(evidence), said, turn);
  return {true, "", std::move(said)};
}

}  // namespace plainwater::engine
