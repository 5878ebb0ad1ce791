#include "feeding/drop_judge.h"

#include "feeding/phrases.h"

namespace plainwater::feeding {
namespace {

constexpr std::int64_t kSeenAgainNights = 14;

void withdraw(const HoldEvent& event, std::int64_t night, BenchMoment& m) {
  Decision& d = m.tell(DecisionKind::hold_withdrawn, event.cause);
  const double days = days_of(m.t() - m.hold()->placed);
  d.evidence = phrases::proof_evidence(event, m.drops());
  d.evidence.number("feeding_days_lost", days, 1);
  d.said = phrases::withdrawn(event, days);
  m.season.drop.keep_base(event.base_c, event.noise_c, night, m.drops());
  m.undo_hold();
}

/// The nights recovered, but people asked for plain water as well.
void leave_to_asked(const HoldEvent& event, std::int64_t night, BenchMoment& m) {
  Decision& d = m.tell(DecisionKind::notice, event.cause);
  d.evidence = phrases::proof_evidence(event, m.drops());
  d.said = phrases::recovered(event) + phrases::asked_goes_on(*m.hold(), m);
  m.season.drop.keep_base(event.base_c, event.noise_c, night, m.drops());
  m.withdraw_detected();
}

/// "13.3 °C is still warm enough for cool growers"
words::Sentence why_comfortable(const season::Drop& drop, const BenchMoment& m) {
  return words::say("hold.why-warm-enough", {{"to", words::degrees(drop.landing_c)},
                                             {"growers", phrases::growers(m.bench().group)}});
}

}  // namespace

void DropJudge::prove(const NightFacts& night, MoveJudge& moves, BenchMoment& m) const {
  if (!m.hold() || !night.counted || !m.allowance.releasing) return;
  // While a move is pending, recovered nights prove nothing: the bench may have been carried to
  // warmth.
  const bool may_withdraw = !moves.pending();
  for (HoldEvent& event : m.holds().current().events) {
    if (!event.take_night(night.air.temperature.mean, m.season.drop.mean_deficit_c(4), may_withdraw,
                          m.drops()))
      continue;
    const bool confirmed = event.proof == Proof::confirmed;
    if (!confirmed && !m.hold()->stands()) return withdraw(HoldEvent(event), night.night, m);
    const bool only_asked = !m.hold()->has_detected() && m.hold()->asked_until() > m.t();
    if (only_asked) return leave_to_asked(HoldEvent(event), night.night, m);
    Decision& d =
        m.tell(confirmed ? DecisionKind::hold_confirmed : DecisionKind::notice, event.cause);
    d.evidence = phrases::proof_evidence(event, m.drops());
    const bool over = m.hold()->planned_end(m.drops()) <= m.t();
    d.said = confirmed ? phrases::confirmed(event, m.hold_end())
             : over    ? phrases::event_withdrawn(event)
                       : phrases::event_withdrawn(event, m.hold_end());
  }
  if (m.hold()->planned_end(m.drops()) <= m.t()) moves.end_hold_by_time(m);
}

void DropJudge::answer(const season::Drop& drop, const NightFacts& night, const MoveJudge& moves,
                       BenchMoment& m) {
  const DropRules& rules = m.drops();
  const bool cold_enough_for_anyone =
      drop.fall_c() >= rules.gate_passing_fall_c || drop.landing_c < chill_floor_c(m.bench());
  const bool out_of_season =
      rules.season_gate && !night.season.tropical && !night.days_shorten && !cold_enough_for_anyone;
  // After a severe fall no night is comfortable.
  const bool comfortable = rules.comfort_guard && drop.fall_c() < rules.severe_fall_c &&
                           drop.landing_c >= group_night_c(m.bench()) + rules.guard_margin_c;
  if (!rules.watch) return;
  if (comfortable) {
    // A fall caused by a move is told with the move.
    if (!moves.explains_fall(drop, m))
      tell_let_pass(drop, night, Cause::sharp_drop, why_comfortable(drop, m), m);
    return;
  }
  if (moves.claims_fall(drop, night, m)) return;
  if (out_of_season || !m.may_hold(drop.fall_c()))
    return tell_let_pass(drop, night, m.exempt() ? Cause::exempt : Cause::sharp_drop,
                         m.exempt()      ? words::say("hold.why-exempt")
                         : out_of_season ? words::say("hold.why-growing-days")
                                         : words::say("hold.why-longest-before"),
                         m);
  m.season.drop.answered(night.night);
  Decision& d = m.place_or_extend(HoldEvent::of(drop, m.t()));
  d.evidence = phrases::drop_evidence(drop);
  d.evidence.number("mean_rh_percent", night.air.mean_rh, 0)
      .number("coverage", night.air.temperature.coverage, 2);
  d.said = d.kind == DecisionKind::hold_extended ? phrases::extended(drop, m.hold_end())
                                                 : phrases::placed(drop, m.local_hold(), rules);
}

void DropJudge::tell_let_pass(const season::Drop& drop, const NightFacts& night, Cause cause,
                              const words::Sentence& why, BenchMoment& m) {
  if (night.night - seen_night_ < kSeenAgainNights) return;
  seen_night_ = night.night;
  Decision& d = m.tell(DecisionKind::notice, cause);
  d.evidence = phrases::drop_evidence(drop);
  d.said = phrases::drop_let_pass(drop, why);
}

}  // namespace plainwater::feeding
