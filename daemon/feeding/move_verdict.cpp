#include "feeding/move_verdict.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "feeding/words.h"

namespace plainwater::feeding {
namespace {

using season::ClimateChange;

constexpr double kReliefDeficit_c = 1.0;
constexpr double kNotCooler_c = 1.0;  // so much is within the scatter of a few nights

Evidence evidence_of(const PendingMove& move, const ClimateChange& change, const BenchMoment& m) {
  return words::move_evidence(move.since, change, m.settings().moves.change_c);
}

void confirm(const PendingMove& move, const ClimateChange& change, BenchMoment& m) {
  const bool had_one = move.placed && m.holds().move_event() != nullptr;
  Decision& d = had_one ? m.tell(DecisionKind::hold_confirmed, move.cause)
                        : m.place_or_extend(HoldEvent::of_move(move.cause, move.since, m.t()));
  HoldEvent* event = m.holds().move_event();
  event->proof = Proof::confirmed;
  event->peak_c = std::max(change.fall_c(), change.rise_c());
  d.since = move.since;
  d.evidence = evidence_of(move, change, m);
  if (event->also_drop) d.evidence.text("also", name_of(Cause::sharp_drop));
  d.evidence.number("length_days", event->length_days(m.drops()), 1);
  const bool came_to_rest = move.cause == Cause::shuttling && move.from == move.since && !had_one;
  const std::string what = came_to_rest
                               ? std::string("The bench has come to rest in one place")
                               : fmt::format("The bench was {}", words::carried(move.cause));
  d.text = fmt::format("{}, {}: plain water until about {}.", what, words::change(change),
                       format_day_month(m.local_hold().planned_end));
}

/// Another climate, and not simply a warmer one.
void answer_changed(const PendingMove& move, const ClimateChange& change, BenchMoment& m) {
  const MoveAnswer answer = move.answer(m.settings().moves);
  const bool held_back = answer == MoveAnswer::hold;
  if (held_back && (move.placed || m.may_hold(change.fall_c()))) return confirm(move, change, m);
  if (move.placed) withdraw_move(move, change, answer, m);
  if (answer == MoveAnswer::reduced)
    m.allowance.season.after_move(m.t(), move.weak_until(m.settings().moves), m.rules());
  if (move.placed) return;
  Decision& d = m.tell(DecisionKind::notice, held_back && m.exempt() ? Cause::exempt : move.cause);
  d.evidence = evidence_of(move, change, m);
  d.text = fmt::format("The bench was {} ({}), but no hold was placed: {}.",
                       words::carried(move.cause), words::change(change),
                       !held_back   ? "the settings say so"
                       : m.exempt() ? "it is exempt"
                                    : "it had its longest plain water just before");
}

/// To warmth, during a hold that other events placed.
void answer_warmer_in_hold(const PendingMove& move, const ClimateChange& change,
                           const NightFacts& night, BenchMoment& m) {
  const MoveRules& rules = m.settings().moves;
  const bool relief = night.deficit_c && *night.deficit_c <= kReliefDeficit_c &&
                      change.night_after_c - change.night_before_c >= rules.change_c;
  if (relief) {
    // The nights are warm because the bench was carried; that does not undo what they were, so the
    // proof stands.
    m.holds().confirm_drops();
    if (rules.relief_ends_hold) m.holds().relieve(m.t());
  }
  Decision& d = m.tell(DecisionKind::notice, move.cause);
  d.since = move.since;
  d.evidence = evidence_of(move, change, m);
  if (night.deficit_c) d.evidence.number("deficit_c", *night.deficit_c, 2);
  d.text = fmt::format("The bench was {} to warmth, {}: its plain water goes on until about {}{}.",
                       words::carried(move.cause), words::change(change),
                       format_day_month(m.local_hold().planned_end),
                       relief && rules.relief_ends_hold
                           ? ", shortened because the settings let relief end a hold"
                           : "");
}

void answer_warmer(const PendingMove& move, const ClimateChange& change, const NightFacts& night,
                   BenchMoment& m) {
  if (m.hold() && !move.placed) return answer_warmer_in_hold(move, change, night, m);
  const MoveRules& rules = m.settings().moves;
  const MoveAnswer answer =
      move.answer(rules) == MoveAnswer::none ? MoveAnswer::none : rules.warmer;
  if (answer == MoveAnswer::hold) {
    if (move.placed || m.may_hold(0)) confirm(move, change, m);
    return;
  }
  if (move.placed) withdraw_move(move, change, answer, m);
  if (answer != MoveAnswer::reduced) return;
  m.allowance.season.after_move(m.t(), move.weak_until(rules), m.rules());
  if (move.placed) return;
  Decision& d = m.tell(DecisionKind::notice, move.cause);
  d.evidence = evidence_of(move, change, m);
  d.text =
      fmt::format("The bench was {} to warmth, {}: weak feed at most until {}.",
                  words::carried(move.cause), words::change(change), m.day(move.weak_until(rules)));
}

/// Why the provisional event is taken back, to follow "carried outdoors".
const char* why_withdrawn(const ClimateChange& change, const BenchMoment& m) {
  const double needed_c = m.settings().moves.change_c;
  if (m.bench().moves == Moves::never) return "but the settings say that it never moves";
  if (change.nights_after == 0) return "and back at once";
  if (!change.known()) return "but what it had before is not known";
  if (!(std::max(change.fall_c(), change.rise_c()) >= needed_c))
    return "but its climate hardly changed";
  return change.fall_c() == 0 ? "to warmth" : "for which the settings ask no hold";
}

}  // namespace

void answer_move(const PendingMove& move, const ClimateChange& change, const NightFacts& night,
                 BenchMoment& m) {
  const double needed_c = m.settings().moves.change_c;
  const bool new_bench = std::isnan(change.night_before_c) && std::isnan(change.day_before_c);
  if (!change.known()) {
    // Without nights since, the careful side is the hold that was placed; a new bench has no
    // climate that could have changed.
    if (move.placed && new_bench) withdraw_move(move, change, MoveAnswer::none, m);
    if (move.placed && !new_bench) confirm(move, change, m);
  } else if (change.rise_c() >= needed_c &&
             (change.fall_c() < kNotCooler_c ||
              (m.hold() && !move.placed && change.fall_c() < needed_c))) {
    answer_warmer(move, change, night, m);
  } else if (std::max(change.fall_c(), change.rise_c()) >= needed_c) {
    answer_changed(move, change, m);
  } else if (move.placed) {
    withdraw_move(move, change, MoveAnswer::none, m);
  }
}

void withdraw_move(const PendingMove& move, const ClimateChange& change, MoveAnswer instead,
                   BenchMoment& m) {
  HoldEvent* event = m.holds().move_event();
  if (event == nullptr || event->proof != Proof::provisional) return;
  event->proof = Proof::withdrawn;
  if (event->also_drop)
    m.season.drop.unanswered();  // the fall was not the move's after all; it may still be answered
  const bool over = !m.hold()->stands();
  Decision& d = m.tell(over ? DecisionKind::hold_withdrawn : DecisionKind::notice, event->cause);
  d.since = move.since;
  d.evidence = evidence_of(move, change, m);
  const double days = days_of(m.t() - m.hold()->placed);
  if (over) d.evidence.number("feeding_days_lost", days, 1);
  const std::string after =
      instead == MoveAnswer::reduced
          ? fmt::format("weak feed at most until {}", m.day(move.weak_until(m.settings().moves)))
      : over ? std::string("feeding goes on as before")
             : fmt::format("the hold ends about {}, as without it",
                           format_day_month(m.local_hold().planned_end));
  const std::string figures = change.known() ? " (" + words::change(change) + ")" : "";
  d.text = fmt::format("The bench was {}, {}{}: {}{}.", words::carried(move.cause),
                       why_withdrawn(change, m), figures, after,
                       over ? fmt::format("; {:.0f} feeding days were lost", days) : "");
  // Its move waits no longer, so nothing else keeps the hold.
  if (over)
    m.undo_hold();
  else if (m.hold()->planned_end(m.drops()) <= m.t())
    m.end_hold_by_time();
}

}  // namespace plainwater::feeding
