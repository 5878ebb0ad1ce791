#include "feeding/pump_watch.h"

#include <algorithm>
#include <cmath>

#include "climate/night.h"
#include "common/json_text.h"
#include "feeding/dose_check.h"
#include "feeding/pump_phrases.h"

namespace plainwater::feeding {
namespace {

constexpr Span kToldAgain = hours(20);  // less than a day, so that daily reports are told daily
constexpr Span kStandingWater = kDay;   // how long a probe may stand in old water
constexpr Span kSecond = seconds(1);
constexpr Span kCountedFor = 14 * kDay;
constexpr std::int64_t kDaysKept = 36;

double days_between(Instant from, Instant to) {
  return std::max(1.0, std::ceil(days_of(to - from)));
}

/// EC of what went out: measured, else expected from the reported stock or strength.
double ec_given(const DoseReport& report, const Given& given, const DoseCheck& check,
                const PumpContext& context, int commanded) {
  if (!std::isnan(check.ec25)) return check.ec25;
  if (!context.water_ec) return climate::kUnknown;
  if (!context.full)
    return given.feed_ml.value_or(0) > 0 || report.strength_percent.value_or(commanded) > 0
               ? climate::kUnknown
               : *context.water_ec;
  if (given.feed_ml && given.litres.value_or(0) > 0)
    return *context.water_ec + *given.feed_ml / *given.litres / context.full->ml_per_litre *
                                   (context.full->ec - *context.water_ec);
  return *context.water_ec +
         report.strength_percent.value_or(commanded) / 100 * (context.full->ec - *context.water_ec);
}

}  // namespace

void PumpWatch::command(const PumpCommand& command, double line_l) {
  if (!commands_.empty()) {
    const PumpCommand& before = commands_.back();
    if (before.percent == command.percent && before.armed == command.armed) return;
    const std::int32_t least =
        before.armed ? before.percent : 0;  // nobody follows advice to the letter
    const bool flushed = passed_l_ >= line_l;
    line_least_ = flushed ? least : std::min(line_least_, least);
    line_most_ = flushed ? before.percent : std::max(line_most_, before.percent);
    passed_l_ = 0;
  }
  // The last command from before the time kept is still in force at its start.
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

bool PumpWatch::followed_replaced_order(const DoseReport& report, const Given& given,
                                        const PumpContext& context) const {
  if (!report.sequence) return false;
  const Instant issued = from_seconds(*report.sequence);
  if (issued > given.time || given.time >= issued + context.order_valid) return false;
  // A sequence counts whole seconds: the order is the one in force at the end of its second.
  const Instant settled = issued + kSecond - Span(1);
  const int percent = in_force(settled, settled).most;
  const DoseCheck check = check_dose(report, given, {0, percent, 0, percent, 0, percent},
                                     *context.pump, context.full, context.water_ec, context.limits);
  return !check.over && !check.over_refusal;
}

void PumpWatch::tell(PumpFinding finding, std::uint8_t found_by, Instant now, DoseJudged& judged) {
  const auto [at, fresh] =
      episodes_.try_emplace(static_cast<std::uint8_t>(finding.cause), Episode{now, 0, 0});
  Episode& episode = at->second;
  episode.found_by |= found_by;
  if (!fresh && now - episode.told < kToldAgain) {
    ++episode.unsaid;
    return;
  }
  if (episode.unsaid > 0) finding.evidence.count("reports_since_told", episode.unsaid);
  episode.told = now;
  episode.unsaid = 0;
  judged.findings.push_back(std::move(finding));
}

DoseJudged PumpWatch::take(const DoseReport& report, Instant now, const PumpContext& context) {
  const Pump& pump = *context.pump;
  DoseJudged judged;
  judged.given = counters_.take(report, now);
  const Given& given = judged.given;
  last_report_ = std::max(last_report_, now);
  metered_ = metered_ || given.litres || report.litres_total;

  const Span grace = from_days(pump.grace_min / (24 * 60));
  const Allowed since = in_force(given.stock_from - grace, given.time),
                moment = in_force(given.moment - grace, given.time);
  DoseBounds bounds{since.least, since.most, moment.least, moment.most, moment.least, moment.most};
  // If no water is metered, nobody knows when the line is flushed, and only the grace time counts.
  // If water is metered but not in this report, the probe may stand in old water until some has
  // passed.
  const bool standing = passed_l_ <= pump.line_l && !commands_.empty() &&
                        given.time - commands_.back().from < kStandingWater;
  if (metered_ && (given.litres ? passed_l_ < pump.line_l : standing)) {
    bounds.line_least = std::min(bounds.line_least, line_least_);
    bounds.line_most = std::max(bounds.line_most, line_most_);
  }
  if (!commands_.empty() && given.from >= commands_.back().from)
    passed_l_ = rounded(passed_l_ + given.litres.value_or(0));
  // Nobody follows advice to the letter; only too much is told.
  if (!since.armed) bounds.stock_least = 0;
  if (!moment.armed) bounds.least = bounds.line_least = 0;

  const DoseCheck check =
      check_dose(report, given, bounds, pump, context.full, context.water_ec, context.limits);
  const std::uint8_t found = check.over ? check.over : check.under;
  const Allowed& allowed = found & kByMoment ? moment : since;
  Cause cause = Cause::none;
  if (check.over)
    cause = !in_force(given.time, given.time).armed ? Cause::fed_against_advice
            : allowed.most == 0                     ? Cause::fed_in_plain_water
                                                    : Cause::over_strength;
  else if (check.under)
    cause = Cause::under_strength;
  std::erase_if(episodes_, [&](const auto& e) {
    return e.first != static_cast<std::uint8_t>(cause) && (e.second.found_by & check.judged) != 0;
  });
  const bool replaced = check.over && followed_replaced_order(report, given, context);
  if (cause != Cause::none) {
    const int percent = check.over ? allowed.most : allowed.least;
    PumpFinding finding{cause, phrases::report_evidence(report, given, percent, check, context),
                        phrases::disobeyed(cause, report, given, percent, check, pump)};
    if (replaced) finding.said += phrases::followed_replaced_order();
    tell(std::move(finding), found, now, judged);
  }
  if (check.over && allowed.armed && !replaced) note_disobedience(context, judged);
  judge_day(context, since.armed, judged);
  judged.ec = rounded(ec_given(report, given, check, context, moment.armed ? moment.most : 0));
  return judged;
}

void PumpWatch::judge_day(const PumpContext& context, bool armed, DoseJudged& judged) {
  const Pump& pump = *context.pump;
  Day& day = days_[context.local_day];
  // A total over several days is spread evenly.
  day.litres = rounded(day.litres + judged.given.litres.value_or(0) /
                                        days_between(judged.given.from, judged.given.time));
  day.feed_ml = rounded(day.feed_ml + judged.given.feed_ml.value_or(0) /
                                          days_between(judged.given.stock_from, judged.given.time));
  const DayGiven given{context.local_day, day.litres, day.feed_ml, context.flush_l};
  if (pump.daily_l && !day.water_told && day.litres > *pump.daily_l + context.flush_l) {
    day.water_told = true;
    judged.findings.push_back({Cause::daily_cap, phrases::day_evidence(given, pump),
                               phrases::water_cap_passed(given, pump)});
  }
  if (pump.daily_feed_ml && !day.feed_told && day.feed_ml > *pump.daily_feed_ml) {
    day.feed_told = true;
    judged.findings.push_back({Cause::daily_cap, phrases::day_evidence(given, pump),
                               phrases::feed_cap_passed(given, pump)});
    if (armed) note_disobedience(context, judged);
  }
  while (days_.begin()->first < context.local_day - kDaysKept) days_.erase(days_.begin());
}

void PumpWatch::note_disobedience(const PumpContext& context, DoseJudged& judged) {
  // By the reports' own times, so that a backlog drained in one go counts for the days that it
  // covers.
  const Instant t = judged.given.time;
  const auto at = std::lower_bound(disobeyed_.begin(), disobeyed_.end(), t);
  // Several reports of one watering count once.
  const Span apart = std::max(from_days(context.pump->grace_min / (24 * 60)), kSecond);
  const bool same = (at != disobeyed_.end() && *at - t < apart) ||
                    (at != disobeyed_.begin() && t - *std::prev(at) < apart);
  if (t <= looked_after_ || same) return;
  disobeyed_.insert(at, t);
  std::erase_if(disobeyed_, [&](Instant each) { return each < disobeyed_.back() - kCountedFor; });
  const int often = static_cast<int>(disobeyed_.size());
  if (!trusted_ || often < context.pump->untrusted_after) return;
  trusted_ = false;
  judged.lost_trust = true;
  Evidence evidence;
  evidence.text("pump", context.pump->name)
      .count("disobedient_reports", often)
      .time("first", disobeyed_.front());
  judged.findings.push_back(
      {Cause::pump_untrusted, std::move(evidence), phrases::untrusted(*context.pump, often)});
}

void PumpWatch::trust(Instant t) {
  trusted_ = true;
  looked_after_ = t;
  disobeyed_.clear();
  episodes_.clear();
}

}  // namespace plainwater::feeding
