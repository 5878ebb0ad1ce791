// What falls due on a bench by time alone: ends of holds and chills, announced holds, rises of
// strength.
#include <fmt/format.h>

#include <algorithm>

#include "feeding/bench_feeding.h"
#include "feeding/words.h"

namespace plainwater::feeding {
namespace {
constexpr Span kMonth = 30 * kDay;
}

Instant BenchFeeding::next_due() const {
  Instant due = kForever;
  if (!announced_.empty()) due = announced_.front().from;
  if (!releasing_) return due;
  if (chill_until_ != kNever) due = std::min(due, chill_until_);
  if (exempt_until_ != kNever) due = std::min(due, exempt_until_);
  if (hold_) {
    due = std::min(due, hold_->planned_end(drops()));
    if (!hold_->only_detected()) due = std::min(due, hold_->asked + kMonth);
  } else if (!chilled(changed_)) {
    due = std::min(due, season_.next_rise(rules()));
  }
  return due;
}

void BenchFeeding::end_hold(Instant t, season::BenchSeason& season) {
  if (hold_->has_detected()) spells_.push_back({hold_->placed, t});
  if (hold_->capped(drops())) {
    // It ends too early for its newest fall: the plants are not used to that, and should it be
    // severe it may yet be answered.
    season.drop.unanswered();
  } else {
    season.acclimation.settle();
    season.drop.settled();
  }
  season_.after_hold(t, rules());
  if (pending_move_ && pending_move_->placed) pending_move_.reset();
  hold_.reset();
}

void BenchFeeding::end_by_time(Instant t, season::BenchSeason& season, Decisions& out) {
  const Hold ended = *hold_;
  const bool capped = ended.capped(drops());
  if (!capped && hold_on_for_move(t, out)) return;
  Decision& d = tell(out, t, DecisionKind::hold_ended, capped ? Cause::cap : ended.cause);
  d.evidence.number("plain_water_days", days_of(t - ended.placed), 1)
      .count("events", static_cast<std::int64_t>(ended.events.size()));
  if (season.acclimation.acclimated_c())
    d.evidence.number("acclimated_c", *season.acclimation.acclimated_c(), 2);
  end_hold(t, season);
  const Share after = effective(t);
  const double days = days_of(t - ended.placed);
  d.text = after.feeding == Feeding::plain_water ? words::ended_in_plain_water(days, after.cause)
                                                 : words::ended(days, season_.percent(), capped);
  if (!capped) return;
  rest_until_ = t + from_days(drops().rest_after_cap_days);
  ask(out, t, Cause::cap,
      fmt::format(
          "{:.0f} days of plain water are the most that detection may ask for. {}; no new hold is "
          "placed before {} unless the "
          "nights fall severely. Please look at the plants and decide.",
          drops().longest_plain_water_days,
          after.feeding == Feeding::plain_water ? "The hold has ended" : "Weak feed has begun",
          day(rest_until_)));
}

void BenchFeeding::begin_announced(Instant t, Decisions& out) {
  const Announced due = announced_.front();
  announced_.erase(announced_.begin());
  Decision& d = place_or_extend(HoldEvent::of_grower(t, due.until, Cause::announced), t, out);
  d.evidence.text("who", due.who).time("until", due.until);
  if (!due.note.empty()) d.evidence.text("note", due.note);
  d.text = words::announced(due.who, local(due.until));
}

void BenchFeeding::take_due(Instant t, season::BenchSeason& season, Decisions& out) {
  const std::size_t first = out.size();
  while (!announced_.empty() && t >= announced_.front().from) begin_announced(t, out);
  if (!releasing_) return finish(t, first, out);
  if (chill_until_ != kNever && t >= chill_until_) {
    chill_until_ = kNever;
    season_.after_pause(t, rules());
  }
  if (exempt_until_ != kNever && t >= exempt_until_) {
    exempt_until_ = kNever;
    tell(out, t, DecisionKind::notice, Cause::exempt).text =
        "The exemption has ended: sharp drops are answered with a hold again.";
  }
  if (hold_ && t >= hold_->planned_end(drops())) end_by_time(t, season, out);
  if (hold_ && !hold_->only_detected() && t >= hold_->asked + kMonth) {
    hold_->asked = t;
    ask(out, t, Cause::grower,
        fmt::format(
            "The hold of your own has lasted {:.0f} days and is set until {}. Is it still wanted?",
            days_of(t - hold_->placed), day(hold_->planned_end(drops()))));
  }
  if (!hold_) season_.proceed(t, rules());
  finish(t, first, out);
}

HoldView BenchFeeding::local_view() const {
  HoldView view = hold_->view(drops());
  for (Instant* t : {&view.placed, &view.earliest_end, &view.planned_end, &view.latest_end})
    *t = local(*t);
  return view;
}

std::optional<HoldView> BenchFeeding::hold() const {
  if (!hold_) return std::nullopt;
  return hold_->view(drops());
}

std::string BenchFeeding::because(Instant t) const {
  const std::string ahead = announced_.empty() ? ""
                                               : fmt::format(" Plain water is announced from {}.",
                                                             day(announced_.front().from));
  return because_now(t) + ahead;
}

std::string BenchFeeding::because_now(Instant t) const {
  const Share now = effective(t);
  if (now.cause == Cause::chill)
    return fmt::format("Chilled under its floor; plain water until {}.", day(chill_until_));
  if (hold_ && now.cause == hold_->cause)
    return words::holding(local_view(), drops(), settings_->moves);
  return words::feeding_changed(now.feeding, now.percent, now.cause);
}

std::vector<Question> BenchFeeding::questions() const {
  std::vector<Question> out;
  for (const auto& [cause, text] : questions_) out.push_back({cause, text});
  return out;
}

}  // namespace plainwater::feeding
