#include "feeding/pump_watch.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "common/json_text.h"
#include "feeding/dose_check.h"
#include "feeding/pump_words.h"

namespace plainwater::feeding {
namespace {

constexpr Span kToldAgain = kDay;
constexpr Span kCountedFor = 14 * kDay;
constexpr std::int64_t kDaysKept = 36;
constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

/// What went out: as measured, else as it should be by the stock or the strength that was told.
double ec_given(const DoseReport& report, const Given& given, const DoseCheck& check, const PumpContext& context, int commanded) {
  if (!std::isnan(check.ec25)) return check.ec25;
  if (!context.water_ec) return kUnknown;
  if (!context.full) return given.feed_ml.value_or(0) > 0 || report.strength_percent.value_or(commanded) > 0 ? kUnknown : *context.water_ec;
  if (given.feed_ml && given.litres.value_or(0) > 0)
    return *context.water_ec + *given.feed_ml / *given.litres / context.full->ml_per_litre * (context.full->ec - *context.water_ec);
  return *context.water_ec + report.strength_percent.value_or(commanded) / 100 * (context.full->ec - *context.water_ec);
}

}  // namespace

void PumpWatch::command(const PumpCommand& command, double line_l) {
  if (!commands_.empty() && commands_.back().percent == command.percent && commands_.back().armed == command.armed) return;
  if (!commands_.empty() && commands_.back().percent != command.percent) {
    const std::int32_t before = commands_.back().percent;
    const bool flushed = passed_l_ >= line_l;
    line_least_ = flushed ? before : std::min(line_least_, before);
    line_most_ = flushed ? before : std::max(line_most_, before);
    passed_l_ = 0;
  }
  // The last one that began before the time kept is still in force at its beginning.
  const auto old = [&](const PumpCommand& c) { return c.from < command.from - kReportsKept; };
  while (commands_.size() > 1 && old(commands_[1])) commands_.erase(commands_.begin());
  commands_.push_back(command);
}

PumpWatch::Allowed PumpWatch::in_force(Instant from, Instant to) const {
  Allowed allowed{100, 0, true};
  bool any = false;
  for (std::size_t i = 0; i < commands_.size(); ++i) {
    const Instant until = i + 1 < commands_.size() ? commands_[i + 1].from : kForever;
    if (until <= from || commands_[i].from > to) continue;
    any = true;
    allowed.least = std::min(allowed.least, commands_[i].percent);
    allowed.most = std::max(allowed.most, commands_[i].percent);
    allowed.armed = allowed.armed && commands_[i].armed;
  }
  return any ? allowed : Allowed{};
}

bool PumpWatch::followed_replaced_order(const DoseReport& report, const PumpContext& context, int allowed_percent) const {
  if (!report.sequence) return false;
  const Instant issued = from_seconds(*report.sequence);
  return issued <= report.time && report.time < issued + context.order_valid && in_force(issued, issued).most > allowed_percent;
}

void PumpWatch::tell(PumpFinding finding, Instant now, DoseJudged& judged) {
  const auto [at, fresh] = episodes_.try_emplace(static_cast<std::uint8_t>(finding.cause), Episode{now, 0});
  Episode& episode = at->second;
  if (!fresh && now - episode.told < kToldAgain) {
    ++episode.unsaid;
    return;
  }
  if (episode.unsaid > 0) finding.evidence.count("reports_since_told", episode.unsaid);
  episode = {now, 0};
  judged.findings.push_back(std::move(finding));
}

DoseJudged PumpWatch::take(const DoseReport& report, Instant now, const PumpContext& context) {
  const Pump& pump = *context.pump;
  DoseJudged judged;
  judged.given = counters_.take(report, now);
  last_report_ = std::max(last_report_, now);

  const Span grace = from_days(pump.grace_min / (24 * 60));
  const Allowed allowed = in_force(judged.given.from - grace, report.time);
  DoseBounds bounds{allowed.least, allowed.most, allowed.least, allowed.most};
  if (judged.given.litres && passed_l_ < pump.line_l) {
    bounds.line_least = std::min(bounds.line_least, line_least_);
    bounds.line_most = std::max(bounds.line_most, line_most_);
  }
  passed_l_ = rounded(passed_l_ + judged.given.litres.value_or(0));
  // Nobody follows an advice to the letter; too much is told all the same.
  if (!allowed.armed) bounds.least = bounds.line_least = 0;

  const DoseCheck check = check_dose(report, judged.given, bounds, pump, context.full, context.water_ec, context.limits);
  const bool in_plain_water = check.over && allowed.most == 0;
  Cause cause = Cause::none;
  if (check.over)
    cause = !in_plain_water ? Cause::over_strength : allowed.armed ? Cause::fed_in_plain_water : Cause::fed_against_advice;
  else if (check.under)
    cause = Cause::under_strength;
  for (const Cause each : {Cause::fed_in_plain_water, Cause::fed_against_advice, Cause::over_strength, Cause::under_strength})
    if (check.judged && each != cause) episodes_.erase(static_cast<std::uint8_t>(each));
  const bool replaced = check.over && followed_replaced_order(report, context, allowed.most);
  if (cause != Cause::none) {
    PumpFinding finding{cause, words::report_evidence(report, judged.given, allowed.most, check, context),
                        words::disobeyed(cause, report, judged.given, allowed.most, check, pump)};
    if (replaced) finding.text += words::followed_replaced_order();
    tell(std::move(finding), now, judged);
  }
  if (check.over && allowed.armed && !replaced) note_disobedience(report, context, judged);
  judge_day(report, context, allowed.armed, judged);
  judged.ec = rounded(ec_given(report, judged.given, check, context, allowed.armed ? allowed.most : 0));
  return judged;
}

void PumpWatch::judge_day(const DoseReport& report, const PumpContext& context, bool armed, DoseJudged& judged) {
  const Pump& pump = *context.pump;
  Day& day = days_[context.local_day];
  day.litres = rounded(day.litres + judged.given.litres.value_or(0));
  day.feed_ml = rounded(day.feed_ml + judged.given.feed_ml.value_or(0));
  while (!days_.empty() && days_.begin()->first < context.local_day - kDaysKept) days_.erase(days_.begin());
  const bool too_wet = pump.daily_l && day.litres > *pump.daily_l + context.flush_l;
  const bool too_much = pump.daily_feed_ml && day.feed_ml > *pump.daily_feed_ml;
  if (day.told || (!too_wet && !too_much)) return;
  day.told = true;
  Evidence evidence;
  evidence.text("pump", pump.name).number("litres", day.litres, 2).number("feed_ml", day.feed_ml, 1);
  if (pump.daily_l) evidence.number("daily_litres", *pump.daily_l, 2);
  if (pump.daily_feed_ml) evidence.number("daily_feed_ml", *pump.daily_feed_ml, 1);
  if (context.flush_l > 0) evidence.number("flush_litres", context.flush_l, 1);
  judged.findings.push_back({Cause::daily_cap, std::move(evidence), words::cap_passed(pump, day.litres, day.feed_ml, too_much)});
  if (too_much && armed) note_disobedience(report, context, judged);
}

void PumpWatch::note_disobedience(const DoseReport& report, const PumpContext& context, DoseJudged& judged) {
  // By the reports' own times, so that a backlog drained in one go counts as the days it tells of.
  if (std::find(disobeyed_.begin(), disobeyed_.end(), report.time) != disobeyed_.end()) return;
  disobeyed_.insert(std::upper_bound(disobeyed_.begin(), disobeyed_.end(), report.time), report.time);
  std::erase_if(disobeyed_, [&](Instant t) { return t < disobeyed_.back() - kCountedFor; });
  const int often = static_cast<int>(disobeyed_.size());
  if (!trusted_ || often < context.pump->untrusted_after) return;
  trusted_ = false;
  judged.lost_trust = true;
  Evidence evidence;
  evidence.text("pump", context.pump->name).count("disobedient_reports", often).time("first", disobeyed_.front());
  judged.findings.push_back({Cause::pump_untrusted, std::move(evidence), words::untrusted(*context.pump, often)});
}

void PumpWatch::trust() {
  trusted_ = true;
  disobeyed_.clear();
  episodes_.clear();
}

}  // namespace plainwater::feeding
