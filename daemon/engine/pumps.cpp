// Pumps: what each may give, and what it reports that it gave.
#include <fmt/format.h>

#include <algorithm>

#include "engine/state.h"
#include "feeding/pump_watch.h"
#include "settings/known_bench.h"

namespace plainwater::engine {

using feeding::Cause;
using feeding::Feeding;

namespace {

constexpr int kAskDaysBehind = 28;

/// All that a dose depends on, so that another mix is seen as another one.
std::string mix_of(const Settings& settings, const Pump& pump) {
  const auto full = feeding::full_strength_of(settings, pump);
  if (!full) return {};
  return fmt::format(
      "{}, {}, {:.4f} mL/L, {:.2f} ppm N, EC {:.3f} on {:.3f}; {:.4f} to {:.4f} by {:.4f} mL/L",
      pump.recipe, settings.recipe(pump.recipe)->label, full->ml_per_litre, full->ppm_n, full->ec,
      full->water_ec, pump.least_ml_per_litre, pump.most_ml_per_litre.value_or(0),
      pump.step_ml_per_litre);
}

}  // namespace

std::optional<std::size_t> Engine::State::pump_of(std::size_t bench) const {
  const Pump* pump = settings->pump_of(settings->benches[bench].name);
  if (pump == nullptr) return std::nullopt;
  return static_cast<std::size_t>(pump - settings->pumps.data());
}

Engine::State::PumpShare Engine::State::pump_share(std::size_t p) const {
  PumpShare share;
  int most = 0;
  std::string careful;
  for (const std::string& name : settings->pumps[p].benches) {
    const auto own = benches[known_bench(*settings, name)].feeding.effective(now);
    most = std::max(most, own.percent);
    if (careful.empty() || own.percent < share.percent) careful = name;
    share.feeding = std::min(share.feeding, own.feeding);
    share.percent = std::min(share.percent, own.percent);
  }
  if (most > share.percent) share.limited_by = careful;
  share.dose = feeding::dose_of(*settings, settings->pumps[p], share.percent);
  const bool can_dose = settings->pumps[p].recipe.empty() ||
                        (share.dose && share.dose->problem == feeding::DoseProblem::none);
  if (share.feeding == Feeding::plain_water || !can_dose) {
    share.feeding = Feeding::plain_water;
    share.percent = 0;
  }
  return share;
}

void Engine::State::note_commands() {
  for (std::size_t p = 0; p < pumps.size(); ++p)
    pumps[p].watch.command({now, pump_share(p).percent, pumps[p].armed}, settings->pumps[p].line_l);
}

void Engine::State::look_at_pumps(Outcome& out) {
  pumps_ready = true;
  for (std::size_t p = 0; p < pumps.size(); ++p) {
    PumpState& pump = pumps[p];
    if (pump.heard == kNever) pump.heard = now;
    std::string mix = mix_of(*settings, settings->pumps[p]);
    if (pump.armed && pump.mix != mix) {
      pump.armed = false;
      feeding::Evidence evidence;
      evidence.text("pump", settings->pumps[p].name).text("armed_with", pump.mix).text("now", mix);
      tell_pump(out, now, p, "", Cause::recipe_changed, std::move(evidence),
                fmt::format("Pump {} is on advice again, because its recipe, water or range "
                            "changed. Look at the new dose, and arm it when it is right.",
                            settings->pumps[p].name));
    }
    pump.mix = std::move(mix);
    std::erase_if(pump.behind,
                  [&](const auto& entry) { return !settings->pumps[p].feeds(entry.first); });
  }
  for (std::size_t b = 0; b < benches.size(); ++b) {
    if (benches[b].watering.dry_since == kNever) benches[b].watering.dry_since = now;
    // A pump under another name is the same pump: what was forbidden is allowed again by a person's
    // word alone.
    const auto p = pump_of(b);
    if (p && !pumps[*p].watch.trusted()) benches[b].feeding.forbid(true, now, out.decisions);
    if (!p && settled) benches[b].feeding.forbid(false, now, out.decisions);
  }
  note_commands();
  next_due = earliest_due();
}

void Engine::State::tell_pump(Outcome& out, Instant t, std::size_t p, std::string bench,
                              Cause cause, feeding::Evidence evidence, std::string text) const {
  feeding::Decision d;
  d.time = t;
  d.bench = std::move(bench);
  d.cause = cause;
  const auto share = pump_share(p);
  d.feeding = share.feeding;
  d.strength_percent = share.percent;
  d.evidence = std::move(evidence);
  d.text = std::move(text);
  out.decisions.push_back(std::move(d));
}

Instant Engine::State::pump_due(std::size_t p) const {
  const auto& silent_h = settings->pumps[p].silent_h;
  return silent_h && !pumps[p].silent && pumps[p].heard != kNever
             ? pumps[p].heard + from_days(*silent_h / 24)
             : kForever;
}

void Engine::State::tell_silence(std::size_t p, Outcome& out) {
  pumps[p].silent = true;
  feeding::Evidence evidence;
  evidence.text("pump", settings->pumps[p].name)
      .time("last_heard", pumps[p].heard)
      .number("silent_hours", *settings->pumps[p].silent_h, 1);
  tell_pump(
      out, now, p, "", Cause::pump_silent, std::move(evidence),
      fmt::format(
          "Pump {} has reported nothing for {:.3g} hours. Please see that its benches are watered.",
          settings->pumps[p].name, *settings->pumps[p].silent_h));
}

void Engine::State::hear(std::size_t p, Outcome& out) {
  PumpState& pump = pumps[p];
  if (pump.silent) {
    feeding::Evidence evidence;
    evidence.text("pump", settings->pumps[p].name).time("last_heard", pump.heard);
    tell_pump(out, now, p, "", Cause::pump_reports, std::move(evidence),
              fmt::format("Pump {} reports again.", settings->pumps[p].name));
  }
  pump.silent = false;
  pump.heard = now;
}

void Engine::State::tell_wrong_clock(std::size_t p, Instant reported, Outcome& out) {
  if (pumps[p].clock_told != kNever && now - pumps[p].clock_told < kDay) return;
  pumps[p].clock_told = now;
  feeding::Evidence evidence;
  evidence.text("pump", settings->pumps[p].name).time("reported", reported);
  tell_pump(out, now, p, "", Cause::pump_clock, std::move(evidence),
            fmt::format("Pump {} sends reports of {}, too far back to be held against its orders. "
                        "Please look at its clock.",
                        settings->pumps[p].name, format_date(settings->site.local(reported))));
}

void Engine::State::forbid(std::size_t p, bool forbidden, Outcome& out) {
  for (const std::string& name : settings->pumps[p].benches)
    benches[known_bench(*settings, name)].feeding.forbid(forbidden, now, out.decisions);
}

bool Engine::State::forbidden(std::size_t p) const {
  return !pumps[p].watch.trusted() ||
         std::ranges::any_of(settings->pumps[p].benches, [&](const std::string& name) {
           const BenchState& bench = benches[known_bench(*settings, name)];
           return bench.feeding.effective(now).cause == Cause::pump_untrusted;
         });
}

TakenDose Engine::State::take_dose(const feeding::DoseReport& report, Outcome& out) {
  const auto p = settings->pump(report.pump);
  const auto named = settings->bench(report.bench);
  if (!p || (!report.bench.empty() && !settings->pumps[*p].feeds(report.bench)))
    return TakenDose::unknown;
  PumpState& pump = pumps[*p];
  if (pump.watch.seen(report)) return TakenDose::repeated;
  const std::size_t first = out.decisions.size();
  if (pump.watch.too_old(report, now)) {
    if (report.time >= now - feeding::kReportsKept)
      return TakenDose::history;  // of before there were orders
    hear(*p, out);
    tell_wrong_clock(*p, report.time, out);
    next_due = std::min(next_due, pump_due(*p));
    return TakenDose::history;
  }
  hear(*p, out);

  const Pump& about = settings->pumps[*p];
  std::vector<std::size_t> watered;
  double held = 0, flush = 0;
  bool all_tell_pots = true;
  for (const std::string& name : about.benches) {
    const std::size_t bench = known_bench(*settings, name);
    flush += benches[bench].watering.flush_l;  // the day's water is that of all of them
    if (named && bench != *named) continue;
    watered.push_back(bench);
    held += feeding::held_l(settings->benches[bench]);
    all_tell_pots = all_tell_pots && feeding::held_l(settings->benches[bench]) > 0;
  }
  feeding::PumpContext context;
  context.pump = &about;
  context.limits = feeding::limits_of(*settings, about);
  context.flush_l = flush;
  context.order_valid = seconds(settings->feeding.order_valid_s);
  context.water_ec = feeding::water_ec_of(*settings, about);
  context.full = feeding::full_strength_of(*settings, about);
  const Instant at = std::min(report.time, now);
  context.local_day =
      std::chrono::floor<std::chrono::days>(settings->site.local(at)).time_since_epoch().count();

  auto judged = pump.watch.take(report, now, context);
  for (auto& finding : judged.findings)
    tell_pump(out, now, *p, report.bench, finding.cause, std::move(finding.evidence),
              std::move(finding.text));
  const auto& given = judged.given;
  const bool told_of_water =
      given.litres ? *given.litres > 0
                   : !report.litres_total &&
                         (report.strength_percent || report.ec || given.feed_ml.value_or(0) > 0);
  for (const std::size_t b : watered) {
    const Bench& bench = settings->benches[b];
    const double part =
        all_tell_pots ? feeding::held_l(bench) / held : 1.0 / static_cast<double>(watered.size());
    if (told_of_water)
      water(b, given.litres ? std::optional(*given.litres * part) : std::nullopt, judged.ec, at);
    if (report.runoff_ec) benches[b].watering.salts.runoff(*report.runoff_ec, at, bench);
  }
  const std::size_t told = out.decisions.size();
  if (judged.lost_trust) forbid(*p, true, out);
  // What the report was told with tells the feed to which it led.
  const auto share = pump_share(*p);
  for (std::size_t i = first; i < told; ++i) {
    out.decisions[i].feeding = share.feeding;
    out.decisions[i].strength_percent = share.percent;
  }
  // A report puts off what is due; only what it led to may be due sooner. So it costs the same
  // however many pumps there are.
  next_due = std::min(next_due, pump_due(*p));
  if (out.decisions.size() != first) {
    note_commands();
    next_due = earliest_due();
  }
  return TakenDose::used;
}

void Engine::State::count_days_behind(Instant t, Outcome& out) {
  for (std::size_t p = 0; p < pumps.size(); ++p) {
    const auto share = pump_share(p);
    for (const std::string& name : settings->pumps[p].benches) {
      feeding::BenchFeeding& own = benches[known_bench(*settings, name)].feeding;
      auto& [days, asked] = pumps[p].behind[name];
      const bool loses = !share.limited_by.empty() && name != share.limited_by &&
                         own.effective(t).percent > share.percent;
      days = loses ? days + 1 : std::max(0, days - 1);
      if (days == 0) asked = 0;
      if (!loses || days < asked + kAskDaysBehind) continue;
      asked = days;
      own.ask(
          out.decisions, t, Cause::shared_pump,
          fmt::format("On {} days bench {} got less feed than it may, because pump {} follows its "
                      "most careful bench, now {}. Never feeding is "
                      "harmful too: please feed it by hand, or give it another pump.",
                      days, name, settings->pumps[p].name, share.limited_by));
    }
  }
}

feeding::Reply Engine::State::take_pump_request(const feeding::Request& request, Outcome& out) {
  const auto p = settings->pump(request.pump);
  if (!p)
    return {false, "unknown-pump",
            fmt::format("there is no pump \"{}\" in the settings", request.pump)};
  PumpState& pump = pumps[*p];
  feeding::Evidence evidence;
  evidence.text("who", request.who).text("request", request.id).text("pump", request.pump);
  if (!request.note.empty()) evidence.text("note", request.note);
  std::string text;
  Cause cause = Cause::grower;
  if (request.kind == feeding::RequestKind::trust) {
    if (!forbidden(*p))
      return {false, "trusted-already", fmt::format("pump {} is trusted already", request.pump)};
    pump.watch.trust(now);
    forbid(*p, false, out);
    cause = Cause::pump_trusted;
    text = fmt::format("Pump {} is trusted again, as {} said{}.", request.pump, request.who,
                       pump.armed ? "; it is armed and follows its orders at once" : "");
  } else if (request.kind == feeding::RequestKind::arm) {
    if (forbidden(*p))
      return {false, "pump-untrusted",
              fmt::format("pump {} disobeyed; look after it and say so (trust) before you arm it",
                          request.pump)};
    pump.armed = true;
    if (!pump.mix.empty()) evidence.text("mix", pump.mix);
    text = fmt::format("Pump {} follows its order from now on, as {} asked.", request.pump,
                       request.who);
  } else {
    pump.armed = false;
    text = fmt::format("Pump {} is on advice only, as {} asked: its strength goes out as 0.",
                       request.pump, request.who);
  }
  tell_pump(out, now, *p, "", cause, std::move(evidence), text);
  return {true, "", std::move(text)};
}

}  // namespace plainwater::engine
