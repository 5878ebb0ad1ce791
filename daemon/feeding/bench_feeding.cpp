#include "feeding/bench_feeding.h"

#include <algorithm>

#include "feeding/bench_requests.h"
#include "feeding/phrases.h"

namespace plainwater::feeding {
namespace {
constexpr Span kMonth = 30 * kDay;
}

void BenchFeeding::finish(std::size_t first, const Teller& to) {
  allowance_.holds.settle(settings_->drops);
  told_.complete(effective(to.t()), first, allowance_, to);
}

void BenchFeeding::begin(const SeasonFacts& season, Instant t, Decisions& out) {
  const std::size_t first = out.size();
  allowance_.begun = true;
  allowance_.season.take_night(season, t, settings_->feeding);
  allowance_.proceed(t, settings_->feeding);
  finish(first, at(t, out));
}

void BenchFeeding::forbid(bool forbidden, Instant t, Decisions& out) {
  if (allowance_.forbidden == forbidden) return;
  const std::size_t first = out.size();
  allowance_.forbidden = forbidden;
  if (!forbidden) allowance_.season.after_pause(t, settings_->feeding);
  finish(first, at(t, out));
}

void BenchFeeding::ask(Decisions& out, Instant t, Cause cause, const words::Sentence& question) {
  Decision& d = questions_.ask(at(t, out), cause, question);
  const Share now = effective(t);
  d.feeding = now.feeding;
  d.strength_percent = now.percent;
}

void BenchFeeding::take_night(const NightFacts& night, season::BenchSeason& season,
                              Decisions& out) {
  const std::size_t first = out.size();
  BenchMoment m = at(night.time, season, out);
  const FeedingRules& rules = settings_->feeding;
  // A chill does not run out while the clock is not believed.
  if (allowance_.releasing && night.time >= allowance_.chill.due())
    allowance_.end_chill(night.time);
  allowance_.blindness.take_night(night, allowance_.releasing, allowance_.season, questions_, m);
  moves_.judge(night, m);
  const auto drop = night.counted
                        ? season.drop.take(season.acclimation, night.deficit_c, settings_->drops)
                        : std::nullopt;
  drops_.prove(night, moves_, m);
  if (drop) drops_.answer(*drop, night, moves_, m);
  allowance_.season.take_night(night.season, night.time, rules);
  if (!m.hold()) allowance_.proceed(night.time, rules);
  reminders_.take_night(night, m);
  finish(first, m);
}

void BenchFeeding::take_move(season::Carried carried, Position to, Instant since, Instant t,
                             season::BenchSeason& season, Decisions& out) {
  const std::size_t first = out.size();
  BenchMoment m = at(t, season, out);
  moves_.take(carried, to, since, m);
  finish(first, m);
}

void BenchFeeding::take_cold(const ColdStretch& cold, Position place, Instant t, Decisions& out) {
  const std::size_t first = out.size();
  const Teller to = at(t, out);
  allowance_.chill.take(cold, place, fed(t), to);
  finish(first, to);
}

Reply BenchFeeding::take_request(const Request& request, Instant t, season::BenchSeason& season,
                                 Decisions& out) {
  const std::size_t first = out.size();
  BenchMoment m = at(t, season, out);
  Reply reply = answer_request(request, announced_, moves_, m);
  finish(first, m);
  return reply;
}

Instant BenchFeeding::next_due() const {
  Instant due = announced_.due();
  if (!allowance_.releasing) return due;
  due = std::min({due, allowance_.chill.spell_due(), limits_.exemption_due()});
  if (const auto& hold = allowance_.holds.hold()) {
    due = std::min(due, hold->planned_end(settings_->drops));
    if (hold->asked_leads(settings_->drops)) due = std::min(due, hold->asked_at + kMonth);
  } else if (!chilled()) {
    due = std::min(due, allowance_.season.next_rise(settings_->feeding));
  }
  return due;
}

void BenchFeeding::take_due(Instant t, season::BenchSeason& season, Decisions& out) {
  const std::size_t first = out.size();
  BenchMoment m = at(t, season, out);
  while (t >= announced_.due()) begin_announced(announced_.take(), m);
  if (!allowance_.releasing) return finish(first, m);
  if (t >= allowance_.chill.spell_due()) allowance_.chill.end_spell(fed(t), m);
  if (t >= limits_.exemption_due()) {
    limits_.end_exemption();
    m.tell(DecisionKind::notice, Cause::exempt).said = words::say("exemption.ended");
  }
  if (m.hold() && t >= m.hold()->planned_end(m.drops())) moves_.end_hold_by_time(m);
  if (m.hold() && m.hold()->asked_leads(m.drops()) && t >= m.hold()->asked_at + kMonth) {
    const HoldEvent& asked = *m.hold()->asked();
    m.holds().current().asked_at = t;
    m.ask(Cause::grower,
          words::say("ask.own-hold", {{"days", words::number(days_of(t - asked.placed), 0)},
                                      {"day", m.day(asked.until)}}) +
              words::say("ask.own-hold-please"));
  }
  if (!m.hold()) allowance_.proceed(t, settings_->feeding);
  finish(first, m);
}

std::optional<HoldView> BenchFeeding::hold() const {
  const auto& hold = allowance_.holds.hold();
  return hold ? std::optional(hold->view(settings_->drops)) : std::nullopt;
}

std::size_t BenchFeeding::holds_asked() const {
  const auto& hold = allowance_.holds.hold();
  if (!hold) return 0;
  return static_cast<std::size_t>(
      std::ranges::count_if(hold->events, [](const HoldEvent& e) { return !e.detected(); }));
}

words::Sentence BenchFeeding::since_placed(const season::MoveWatch& moves, Instant now) const {
  const auto& hold = allowance_.holds.hold();
  const HoldEvent* event = allowance_.holds.move_event();
  if (event == nullptr || hold->cause != event->cause || event->cause == Cause::shuttling)
    return {};
  const Instant back = moves.last_move();
  if (back == kNever || back <= event->moved || cause_of(moves.last_to()) == event->cause)
    return {};
  return phrases::carried_and_back(event->cause, settings_->site.local(event->moved),
                                   settings_->site.local(back), now);
}

words::Sentence BenchFeeding::kept(Instant t) const {
  const auto& hold = allowance_.holds.hold();
  const Hold rest = hold->without_longest(settings_->drops);
  if (rest.planned_end(settings_->drops) <= t) return {};
  Decisions none;
  return words::say("hold.then", {{"end", at(t, none).end_of(rest)}});
}

words::Sentence BenchFeeding::because(Instant t, const season::MoveWatch& moves) const {
  const Instant shown = settings_->site.local(t);
  const auto day = [&](Instant of) { return words::day(settings_->site.local(of), shown); };
  const Share now = effective(t);
  const auto& hold = allowance_.holds.hold();
  // A chill during a hold changes neither its end nor its start.
  const bool chill = now.cause == Cause::chill;
  words::Sentence why;
  if (hold && (chill || now.cause == hold->cause))
    why = phrases::holding(allowance_.holds.local_view(*settings_), since_placed(moves, shown),
                           shown, settings_->drops, settings_->moves);
  if (!why.empty()) why += kept(t);
  if (chill)
    why += hold ? words::say("chill.as-well")
                : words::say("chill.until", {{"day", day(chilled_until())}});
  if (why.empty())
    why = phrases::feeding_changed(now.feeding, now.percent,
                                   phrases::reason(now.cause, allowance_.season));
  if (announced_.empty()) return why;
  return why + words::say("hold.announced-from", {{"day", day(announced_.due())}});
}

void BenchFeeding::join(const BenchFeeding& other) {
  allowance_.join(other.allowance_);
  moves_.join(other.moves_, allowance_.holds);
  allowance_.holds.settle(settings_->drops);
  limits_.join(other.limits_);
  announced_.join(other.announced_);
  questions_.join(other.questions_);
}

}  // namespace plainwater::feeding
