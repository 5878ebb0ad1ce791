// The precedence table, and how a night's close and a chill change a bench's feeding.
#include "feeding/bench_feeding.h"

#include <fmt/format.h>

#include <algorithm>

#include "feeding/words.h"

namespace plainwater::feeding {
namespace {
constexpr int kBlindDaysAsk = 28;
constexpr std::int64_t kSeenAgainNights = 14;
constexpr Span kAskAgain = 30 * kDay;
constexpr std::int64_t kSpringNights = 42;
constexpr Span kChillToldAgain = 7 * kDay;  // a winter under the floor is told of once a week
}  // namespace

BenchFeeding::Share BenchFeeding::effective(Instant t) const {
  const Share plain_chill{Feeding::plain_water, 0, Cause::chill};
  const bool blind_for_long = blind_nights_ >= rules().blind_plain_nights;
  const bool blind_for_too_long = blind_nights_ >= rules().blind_plain_nights + kBlindDaysAsk;
  if (!begun_) return {Feeding::plain_water, 0, Cause::learning};
  if (forbidden_) return {Feeding::plain_water, 0, Cause::pump_untrusted};
  if (chilled(t)) return plain_chill;
  if (blind_for_long && !blind_for_too_long) return {Feeding::plain_water, 0, Cause::blind};
  if (hold_) return {Feeding::plain_water, 0, hold_->cause};
  if (blind_nights_ >= rules().blind_reduced_nights)
    return {Feeding::reduced, std::min(season_.percent(), rules().weakest_percent), Cause::blind};
  return {season_.percent() >= 100 ? Feeding::full : Feeding::reduced, season_.percent(),
          season_.cause(t)};
}

Decision& BenchFeeding::tell(Decisions& out, Instant t, DecisionKind kind, Cause cause) const {
  Decision d;
  d.time = t;
  d.bench = bench_->name;
  d.kind = kind;
  d.cause = cause;
  if (hold_) d.hold = hold_->view(drops());
  return out.emplace_back(std::move(d));
}

void BenchFeeding::finish(Instant t, std::size_t first, Decisions& out) {
  const Share now = effective(t);
  bool told = false;
  for (std::size_t i = first; i < out.size(); ++i) {
    Decision& d = out[i];
    if (d.bench != bench_->name) continue;
    d.feeding = now.feeding;
    d.strength_percent = now.percent;
    if (d.hold && hold_ && d.hold->id == hold_->id) d.hold = hold_->view(drops());
    if (d.kind == DecisionKind::hold_withdrawn && now.feeding == Feeding::plain_water)
      d.text += " For now plain water goes on: " + words::reason(now.cause) + ".";
    told = told || d.kind == DecisionKind::hold_placed || d.kind == DecisionKind::hold_withdrawn ||
           d.kind == DecisionKind::hold_ended || d.kind == DecisionKind::feeding_changed;
  }
  const bool changed =
      !shown_.told || shown_.feeding != now.feeding || shown_.percent != now.percent;
  if (changed && !told) {
    Decision& d = tell(out, t, DecisionKind::feeding_changed, now.cause);
    d.feeding = now.feeding;
    d.strength_percent = now.percent;
    d.evidence.text("from", shown_.told ? name_of(shown_.feeding) : "unknown")
        .count("from_percent", shown_.told ? shown_.percent : 0);
    d.evidence.count("to_percent", now.percent);
    d.text = words::feeding_changed(now.feeding, now.percent, now.cause);
  }
  if (changed) changed_ = t;
  shown_ = {now.feeding, now.percent, now.cause, true};
}

void BenchFeeding::ask(Decisions& out, Instant t, Cause cause, const std::string& question) {
  questions_[name_of(cause)] = question;
  Decision& d = tell(out, t, DecisionKind::notice, cause);
  d.text = question;
  const Share now = effective(t);
  d.feeding = now.feeding;
  d.strength_percent = now.percent;
}

void BenchFeeding::forbid(bool forbidden, Instant t, Decisions& out) {
  if (forbidden_ == forbidden) return;
  const std::size_t first = out.size();
  forbidden_ = forbidden;
  if (!forbidden) season_.after_pause(t, rules());
  finish(t, first, out);
}

void BenchFeeding::count_blindness(const NightFacts& night, Decisions& out) {
  // What would raise the feed waits until things are released: a night that counts again, and feed
  // after too long a blindness.
  const int raises_at = rules().blind_plain_nights + kBlindDaysAsk;
  if (!releasing_ && (night.counted ? blind_nights_ >= rules().blind_reduced_nights
                                    : blind_nights_ + 1 == raises_at))
    return;
  if (night.counted) {
    if (blind_nights_ >= rules().blind_reduced_nights) season_.after_pause(night.time, rules());
    blind_nights_ = 0;
    questions_.erase(name_of(Cause::blind));
    return;
  }
  ++blind_nights_;
  if (blind_nights_ <= rules().blind_plain_nights) {
    Decision& d = tell(out, night.time, DecisionKind::night_blind, Cause::blind);
    d.evidence.number("coverage", night.air.temperature.coverage, 2)
        .count("nights_in_a_row", blind_nights_);
    d.text = words::night_blind(night.air.temperature.coverage, night.air.suspect, blind_nights_);
  }
  if (blind_nights_ == raises_at) {
    ask(out, night.time, Cause::blind,
        fmt::format("{} nights without believable readings: the bench goes on with {} % feed, "
                    "because never feeding is harmful too. "
                    "Please mend its sensors or decide by hand.",
                    blind_nights_, rules().weakest_percent));
  }
}

Decision& BenchFeeding::place_or_extend(HoldEvent event, Instant t, Decisions& out) {
  const Cause cause = event.cause;
  event.during_hold = hold_.has_value();
  if (hold_) {
    hold_->events.push_back(std::move(event));
    return tell(out, t, DecisionKind::hold_extended, cause);
  }
  Hold hold;
  hold.id = ++last_hold_id_;
  hold.cause = event.cause;
  hold.placed = t;
  hold.before = season_.feed();
  hold.asked = t;
  hold.events.push_back(std::move(event));
  hold_ = std::move(hold);
  return tell(out, t, DecisionKind::hold_placed, cause);
}

void BenchFeeding::prove_events(const NightFacts& night, season::BenchSeason& season,
                                Decisions& out) {
  if (!hold_ || !night.counted || !releasing_) return;
  // While a move is not judged yet, nights that recovered prove nothing: the bench may have been
  // carried to warmth.
  const bool may_withdraw = !pending_move_;
  for (std::size_t i = 0; i < hold_->events.size(); ++i) {
    HoldEvent& event = hold_->events[i];
    if (!event.take_night(night.air.temperature.mean, season.drop.mean_deficit_c(4), may_withdraw,
                          drops()))
      continue;
    const bool confirmed = event.proof == Proof::confirmed;
    if (!confirmed && !hold_->stands()) {
      withdraw(HoldEvent(event), night.time, night.night, season, out);
      return;
    }
    Decision& d =
        tell(out, night.time, confirmed ? DecisionKind::hold_confirmed : DecisionKind::notice,
             event.cause);
    d.evidence = words::proof_evidence(event, drops());
    d.text = confirmed ? words::confirmed(event, local_view())
                       : words::event_withdrawn(event, local_view(), local(night.time));
  }
  if (hold_->planned_end(drops()) <= night.time) end_by_time(night.time, season, out);
}

void BenchFeeding::withdraw(const HoldEvent& event, Instant t, std::int64_t night,
                            season::BenchSeason& season, Decisions& out) {
  Decision& d = tell(out, t, DecisionKind::hold_withdrawn, event.cause);
  const double days = days_of(t - hold_->placed);
  d.evidence = words::proof_evidence(event, drops());
  d.evidence.number("feeding_days_lost", days, 1);
  d.text = words::withdrawn(event, days);
  season.drop.keep_base(event.base_c, event.noise_c, night, drops());
  undo_hold(t);
}

void BenchFeeding::undo_hold(Instant t) {
  spells_.push_back({hold_->placed, t});
  season_.restore(hold_->before);
  hold_.reset();
}

void BenchFeeding::consider_drop(const season::Drop& drop, const NightFacts& night,
                                 season::BenchSeason& season, Decisions& out) {
  const bool cold_enough_for_anyone =
      drop.fall_c() >= drops().gate_passing_fall_c || drop.landing_c < chill_floor_c(*bench_);
  const bool out_of_season = drops().season_gate && !night.season.tropical && !night.days_shorten &&
                             !cold_enough_for_anyone;
  const bool comfortable =
      drops().comfort_guard && drop.landing_c >= group_night_c(*bench_) + drops().guard_margin_c;
  if (!drops().watch || comfortable || drop_by_move(drop, night, season, out)) return;
  const bool exempt = is_exempt(night.time);
  if (out_of_season || !may_hold(night.time, drop.fall_c())) {
    if (night.night - seen_night_ < kSeenAgainNights) return;
    seen_night_ = night.night;
    Decision& d =
        tell(out, night.time, DecisionKind::notice, exempt ? Cause::exempt : Cause::sharp_drop);
    d.evidence = words::drop_evidence(drop);
    d.text = words::drop_let_pass(drop, exempt ? "the bench is exempt"
                                        : out_of_season
                                            ? "days are growing longer"
                                            : "the bench had its longest plain water just before");
    return;
  }
  season.drop.answered(night.night);
  Decision& d = place_or_extend(HoldEvent::of(drop, night.time), night.time, out);
  const bool extends = d.kind == DecisionKind::hold_extended;
  d.evidence = words::drop_evidence(drop);
  d.evidence.number("mean_rh_percent", night.air.mean_rh, 0)
      .number("coverage", night.air.temperature.coverage, 2);
  d.text =
      extends ? words::extended(drop, local_view()) : words::placed(drop, local_view(), drops());
}

double BenchFeeding::plain_days_in_year(Instant t) const {
  const Instant year_ago = t - 365 * kDay;
  double days = 0;
  for (const PlainSpell& s : spells_)
    days += days_of(std::max(Span(0), s.to - std::max(s.from, year_ago)));
  if (hold_ && hold_->has_detected()) days += days_of(t - std::max(hold_->placed, year_ago));
  return days;
}

void BenchFeeding::ask_questions(const NightFacts& night, Decisions& out) {
  const Instant t = night.time;
  std::erase_if(spells_, [&](const PlainSpell& s) { return s.to < t - 365 * kDay; });
  const double plain_days = plain_days_in_year(t);
  if (plain_days > drops().yearly_plain_water_days &&
      (budget_asked_ == kNever || t - budget_asked_ >= kAskAgain)) {
    budget_asked_ = t;
    ask(out, t, Cause::yearly_budget,
        fmt::format("{:.0f} days of plain water by detected holds within a year is more than "
                    "{:.0f}: please decide whether this bench needs another "
                    "place, warmer nights or an exemption.",
                    plain_days, drops().yearly_plain_water_days));
  }
  if (!night.long_days) {
    long_days_since_ = -1;
    spring_asked_ = false;
  } else if (long_days_since_ < 0) {
    long_days_since_ = night.night;
  }
  const bool late_in_spring = long_days_since_ >= 0 &&
                              night.night - long_days_since_ >= kSpringNights &&
                              night.night - long_days_since_ < kSpringNights + 60;
  if (late_in_spring && !spring_asked_ && !night.season.tropical && !hold_ && !season_.learning() &&
      !season_.feed().full && night.season.n14_c < night.season.group_night_c) {
    spring_asked_ = true;
    ask(out, t, Cause::cool_nights,
        "Six weeks into the long days this bench is still on reduced feed, because its nights stay "
        "under its group's number. "
        "If growth has started, say so (growth-started).");
  }
}

void BenchFeeding::begin(const SeasonFacts& season, Instant t, Decisions& out) {
  const std::size_t first = out.size();
  begun_ = true;
  season_.take_night(season, t, rules());
  season_.proceed(t, rules());
  finish(t, first, out);
}

void BenchFeeding::take_night(const NightFacts& night, season::BenchSeason& season,
                              Decisions& out) {
  const std::size_t first = out.size();
  count_blindness(night, out);
  judge_move(night, season, out);
  const auto drop =
      night.counted ? season.drop.take(season.acclimation, night.deficit_c, drops()) : std::nullopt;
  prove_events(night, season, out);
  if (drop) consider_drop(*drop, night, season, out);
  season_.take_night(night.season, night.time, rules());
  if (!hold_ && releasing_) season_.proceed(night.time, rules());
  ask_questions(night, out);
  finish(night.time, first, out);
}

void BenchFeeding::take_chill(Instant t, double air_c, Decisions& out) {
  const std::size_t first = out.size();
  const bool fresh = !chilled(t);
  chill_until_ = t + from_days(drops().chill_days);
  if (fresh || t - chill_told_ >= kChillToldAgain) {
    chill_told_ = t;
    Decision& d =
        tell(out, t, fresh ? DecisionKind::feeding_changed : DecisionKind::notice, Cause::chill);
    d.evidence.number("air_c", air_c, 1)
        .number("chill_floor_c", chill_floor_c(*bench_), 1)
        .time("until", chill_until_);
    d.text = words::chilled(air_c, chill_floor_c(*bench_), local(chill_until_));
  }
  finish(t, first, out);
}

}  // namespace plainwater::feeding
