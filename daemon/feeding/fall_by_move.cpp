#include "feeding/fall_by_move.h"

#include "feeding/phrases.h"

namespace plainwater::feeding {
namespace {
constexpr Span kDropFollowsMove = 12 * kDay;
constexpr double kShareOfDrop = 0.5;  // share of a fall that the move must explain

bool made_by(const PendingMove& move, const season::Drop& drop, const BenchMoment& m) {
  if (m.t() - move.since > kDropFollowsMove) return false;
  const season::ClimateChange change = m.season.moves.climate_change(move.from, move.since);
  return change.night_before_c - change.night_after_c >= kShareOfDrop * drop.fall_c();
}
}  // namespace

std::optional<FallByMove::Suspect> FallByMove::suspect(Instant t,
                                                       const std::optional<PendingMove>& pending,
                                                       const season::MoveWatch& moves) const {
  // Suspects: the pending move, the last move judged to have cooled the nights, or a newer one to
  // where the bench rests, as nights may have fallen there later. Coming back from a short stay is
  // none: it left the nights as they were.
  const std::optional<PendingMove>& known = pending ? pending : cooled_by_;
  const Instant resting = moves.resting_move(t);
  if (resting != kNever && (!known || (!pending && known->since < resting))) {
    const bool shuttling = moves.pattern() == season::Pattern::shuttling;
    const Cause cause = shuttling ? Cause::shuttling : cause_of(moves.last_to());
    return Suspect{{cause, moves.last_to(), resting, resting, false}, true};
  }
  if (!known) return std::nullopt;
  return Suspect{*known, false};
}

bool FallByMove::explains(const season::Drop& drop, const std::optional<PendingMove>& pending,
                          const BenchMoment& m) const {
  const auto suspected = suspect(m.t(), pending, m.season.moves);
  return suspected && made_by(suspected->move, drop, m);
}

bool FallByMove::claims(const season::Drop& drop, const NightFacts& night,
                        const std::optional<PendingMove>& pending, BenchMoment& m) const {
  const auto suspected = suspect(m.t(), pending, m.season.moves);
  if (!suspected || !made_by(suspected->move, drop, m)) return false;
  const PendingMove& move = suspected->move;
  const season::ClimateChange change = m.season.moves.climate_change(move.from, move.since);
  m.season.drop.answered(night.night);
  HoldEvent* event = m.holds().move_event();
  const bool released = move.since <= released_;  // the grower need not say it twice
  const bool unanswered = suspected->late && (event == nullptr || event->moved < move.since) &&
                          !released && move.answer(m.settings().moves) == MoveAnswer::hold &&
                          m.may_hold(drop.fall_c());
  if (unanswered) {
    HoldEvent fresh = HoldEvent::of(drop, m.t());
    fresh.cause = move.cause;
    fresh.moved = move.since;
    m.place_or_extend(std::move(fresh));
    event = m.holds().move_event();
  } else {
    m.tell(DecisionKind::notice, move.cause);
  }
  if (event != nullptr) event->also_drop = true;
  Decision& d = m.told().back();
  d.since = move.since;
  d.evidence = phrases::move_evidence(move.since, change, m.settings().moves.change_c);
  d.evidence.text("also", name_of(Cause::sharp_drop))
      .number("week_before_c", drop.before_c, 2)
      .number("fall_c", drop.fall_c(), 2)
      .number("deficit_c", drop.deficit_c, 2);
  const words::Sentence answer =
      unanswered         ? words::say("fall-by-move.plain-water",
                                      {{"day", m.day(m.t() + from_days(m.drops().decide_night))}})
      : event != nullptr ? words::say("fall-by-move.answers-both", {{"end", m.hold_end()}})
      : pending          ? words::say("fall-by-move.with-the-move")
      : m.exempt()       ? words::say("fall-by-move.exempt")
                         : words::say("fall-by-move.no-hold");
  d.said = words::say("fall-by-move", {{"from", words::degrees(drop.base_c)},
                                       {"to", words::degrees(drop.landing_c)},
                                       {"carried", phrases::carried(move.cause)},
                                       {"moved", m.day(move.since)},
                                       {"answer", answer}});
  return true;
}

}  // namespace plainwater::feeding
