#include "feeding/move_judge.h"

#include "feeding/move_verdict.h"
#include "feeding/phrases.h"

namespace plainwater::feeding {
namespace {
constexpr int kNightsMissed = 5;  // uncovered nights that the judgement waits for
}

void MoveJudge::take(season::Carried carried, Position to, Instant since, BenchMoment& m) {
  using season::Carried;
  if (carried == Carried::once) {
    PendingMove move{cause_of(to), to, since, since, false};
    if (pending_) {  // carried on before the first move was judged: compare with before the first
      move.from = pending_->from;
      move.placed = pending_->placed;
    }
    begin(move, m);
  } else if (carried == Carried::to_and_fro) {
    const Instant began = m.season.moves.episode();
    const HoldEvent* event = m.holds().move_event();
    const PendingMove move{Cause::shuttling, to, began, began, pending_ && pending_->placed};
    // If one excursion is already confirmed, the pattern is answered; an older move does not answer
    // it.
    if (event == nullptr || event->proof == Proof::provisional || event->moved < began)
      begin(move, m);
  }
  const bool only_move = pending_ && pending_->from == pending_->since;
  if (carried == Carried::undone && only_move && m.allowance.releasing) {
    const PendingMove move = *pending_;
    pending_.reset();
    if (move.placed) withdraw_move(move, {}, MoveAnswer::none, m);
  }
}

void MoveJudge::shuttling_ended(const season::MoveWatch& moves, const HoldKeeper& holds) {
  const Instant settled = moves.last_move();
  const HoldEvent* event = holds.move_event();
  const bool answered = event != nullptr && event->moved == settled;  // and so is its fall
  if (answered && event->proof == Proof::confirmed) return;
  PendingMove move{Cause::shuttling, moves.last_to(), settled, settled, answered};
  if (pending_) {  // its start is not judged yet: compare with before the start
    move.from = pending_->from;
    move.placed = pending_->placed;
  }
  pending_ = move;
}

void MoveJudge::begin(const PendingMove& move, BenchMoment& m) {
  pending_ = move;
  if (move.placed) {
    if (m.holds().recast_move(move.cause, move.since)) return;
    pending_->placed = false;
  }
  // A bench in a hold gets plain water anyway; whether the hold gets longer is decided by the
  // climate.
  const MoveRules& rules = m.settings().moves;
  if (m.hold() || move.answer(rules) != MoveAnswer::hold || !m.may_hold(0)) return;
  Decision& d = place_pending(m);
  d.said = words::say("move.placed",
                      {{"carried", phrases::carried(move.cause)}, {"moved", m.day(move.since)}}) +
           words::say("move.clear-by", {{"day", m.day(m.t() + rules.judged_nights * kDay)}});
}

Decision& MoveJudge::place_pending(BenchMoment& m) {
  pending_->placed = true;
  Decision& d = m.place_or_extend(HoldEvent::of_move(pending_->cause, pending_->since, m.t()));
  d.since = pending_->since;
  d.evidence.time("moved", pending_->since)
      .count("judged_after_nights", m.settings().moves.judged_nights);
  return d;
}

void MoveJudge::judge(const NightFacts& night, BenchMoment& m) {
  if (!pending_ || !m.allowance.releasing) return;
  const MoveRules& rules = m.settings().moves;
  PendingMove move = *pending_;
  if (m.bench().moves == Moves::never) {  // the settings have changed meanwhile
    pending_.reset();
    if (move.placed) withdraw_move(move, {}, MoveAnswer::none, m);
    return;
  }
  const Span longest = (rules.judged_nights + kNightsMissed) * kDay;
  season::ClimateChange change = m.season.moves.climate_change(move.from, move.since);
  if (change.nights_after < rules.judged_nights) {
    if (m.t() - move.from < longest) return;
    // The bench was carried again and again: judge by all nights since the first time.
    move.since = move.from;
    change = m.season.moves.climate_change(move.from, move.from);
  }
  pending_.reset();
  if (change.known() && change.night_before_c - change.night_after_c >= rules.change_c)
    falls_.note_cooled(move);
  answer_move(move, change, night, m);
}

void MoveJudge::end_hold_by_time(BenchMoment& m) {
  if (!m.hold()->capped(m.drops()) && keeps_hold(m)) return;
  m.end_hold_by_time();
  hold_ended();
}

void MoveJudge::hold_ended() {
  if (pending_ && pending_->placed) pending_.reset();
}

void MoveJudge::hold_released(Instant t) {
  pending_.reset();
  falls_.note_released(t);
}

void MoveJudge::join(const MoveJudge& other, HoldKeeper& holds) {
  if (!other.pending_) return;
  if (!other.pending_->placed) {
    if (!pending_) pending_ = other.pending_;
    return;
  }
  if (!holds.in_force()) return;
  // The nights by which it would be judged are not kept: keeping the hold is the careful side.
  for (HoldEvent& event : holds.current().events)
    if (is_move(event.cause) && event.proof == Proof::provisional &&
        event.moved == other.pending_->since)
      event.proof = Proof::confirmed;
}

bool MoveJudge::keeps_hold(BenchMoment& m) {
  if (!pending_ || pending_->placed || pending_->answer(m.settings().moves) != MoveAnswer::hold ||
      !m.may_hold(0))
    return false;
  Decision& d = place_pending(m);
  d.said = words::say("move.keeps-hold", {{"carried", phrases::carried(pending_->cause)},
                                          {"moved", m.day(pending_->since)}});
  return true;
}

}  // namespace plainwater::feeding
