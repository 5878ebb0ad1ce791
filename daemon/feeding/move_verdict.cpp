#include "feeding/move_verdict.h"

#include <algorithm>
#include <cmath>

#include "feeding/phrases.h"

namespace plainwater::feeding {
namespace {

using season::ClimateChange;

constexpr double kReliefDeficit_c = 1.0;
constexpr double kNotCooler_c = 1.0;  // within the scatter of a few nights

Evidence evidence_of(const PendingMove& move, const ClimateChange& change, const BenchMoment& m) {
  return phrases::move_evidence(move.since, change, m.settings().moves.change_c);
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
  const words::Value changed = phrases::change(change), end = m.hold_end();
  d.said = came_to_rest ? words::say("move.came-to-rest", {{"change", changed}, {"end", end}})
                        : words::say("move.confirmed", {{"carried", phrases::carried(move.cause)},
                                                        {"change", changed},
                                                        {"end", end}});
}

/// Answers a move to another climate that is not simply warmer.
void answer_changed(const PendingMove& move, const ClimateChange& change, BenchMoment& m) {
  const MoveAnswer answer = move.answer(m.settings().moves);
  const bool held_back = answer == MoveAnswer::hold;
  if (held_back && (move.placed || m.may_hold(change.fall_c()))) return confirm(move, change, m);
  if (move.placed) withdraw_move(move, change, answer, m);
  if (answer == MoveAnswer::reduced)
    m.allowance.season.after_move(move.weak_until(m.settings().moves));
  m.allowance.proceed(m.t(), m.rules());
  if (move.placed) return;
  Decision& d = m.tell(DecisionKind::notice, held_back && m.exempt() ? Cause::exempt : move.cause);
  d.evidence = evidence_of(move, change, m);
  d.said = words::say("move.no-hold",
                      {{"carried", phrases::carried(move.cause)},
                       {"change", phrases::change(change)},
                       {"why", !held_back   ? words::say("move.no-hold-settings")
                               : m.exempt() ? words::say("move.no-hold-exempt")
                                            : words::say("move.no-hold-longest-before")}});
}

/// Answers a move to warmth during a hold that other events placed.
void answer_warmer_in_hold(const PendingMove& move, const ClimateChange& change,
                           const NightFacts& night, BenchMoment& m) {
  const MoveRules& rules = m.settings().moves;
  const bool relief = night.deficit_c && *night.deficit_c <= kReliefDeficit_c &&
                      change.night_after_c - change.night_before_c >= rules.change_c;
  if (relief) {
    // The nights are warm only because the bench was carried, so they do not disprove the drop.
    m.holds().confirm_drops();
    if (rules.relief_ends_hold) m.holds().current().relieved = m.t();
  }
  Decision& d = m.tell(DecisionKind::notice, move.cause);
  d.since = move.since;
  d.evidence = evidence_of(move, change, m);
  if (night.deficit_c) d.evidence.number("deficit_c", *night.deficit_c, 2);
  const words::Value carried = phrases::carried(move.cause), changed = phrases::change(change),
                     end = m.hold_end();
  d.said = relief && rules.relief_ends_hold
               ? words::say("move.warmer-shortens",
                            {{"carried", carried}, {"change", changed}, {"end", end}})
               : words::say("move.warmer-in-hold",
                            {{"carried", carried}, {"change", changed}, {"end", end}});
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
  m.allowance.season.after_move(move.weak_until(rules));
  m.allowance.proceed(m.t(), m.rules());
  if (move.placed) return;
  Decision& d = m.tell(DecisionKind::notice, move.cause);
  d.evidence = evidence_of(move, change, m);
  d.said = words::say("move.warmer", {{"carried", phrases::carried(move.cause)},
                                      {"change", phrases::change(change)},
                                      {"day", m.day(move.weak_until(rules))}});
}

/// The half-year of growing light and warmth.
bool bright_half(const NightFacts& night) { return !night.season.tropical && !night.days_shorten; }

/// Whether a move in the bright half-year cooled the bench enough to be answered.
bool cooled_in_bright_half(const ClimateChange& change, const MoveRules& rules) {
  const auto rise = [](double before_c, double after_c) {
    return std::isnan(before_c) || std::isnan(after_c) ? 0 : after_c - before_c;
  };
  const double nights_c = rise(change.night_before_c, change.night_after_c),
               days_c = rise(change.day_before_c, change.day_after_c);
  return nights_c + days_c < 0 &&
         (nights_c <= -rules.change_c || days_c <= -rules.bright_day_change_c);
}

/// Why the provisional event is withdrawn; goes after "carried outdoors".
words::Sentence why_withdrawn(const ClimateChange& change, bool bright, const BenchMoment& m) {
  const double needed_c = m.settings().moves.change_c;
  if (m.bench().moves == Moves::never) return words::say("move.why-never-moves");
  if (change.nights_after == 0) return words::say("move.why-back-at-once");
  if (!change.known()) return words::say("move.why-not-known");
  if (!(std::max(change.fall_c(), change.rise_c()) >= needed_c))
    return words::say("move.why-hardly-changed");
  if (bright && !cooled_in_bright_half(change, m.settings().moves) && change.fall_c() > 0)
    return words::say("move.why-bright");
  return change.fall_c() == 0 ? words::say("move.why-to-warmth")
                              : words::say("move.why-no-hold-asked");
}

/// `lost_days`: days of feeding lost, if the hold ends with the move.
words::Sentence withdrawn(const PendingMove& move, const ClimateChange& change, MoveAnswer instead,
                          bool bright, std::optional<double> lost_days, const BenchMoment& m) {
  const words::Sentence carried = phrases::carried(move.cause);
  words::Sentence why = why_withdrawn(change, bright, m), after;
  if (change.known())
    why = words::say("move.why-with-figures", {{"why", why}, {"change", phrases::change(change)}});
  if (instead == MoveAnswer::reduced)
    after = words::say("move.after-weak", {{"day", m.day(move.weak_until(m.settings().moves))}});
  else if (lost_days)
    after = words::say("move.after-as-before");
  else
    after = words::say("move.after-hold-ends", {{"end", m.hold_end()}});
  if (!lost_days)
    return words::say("move.withdrawn", {{"carried", carried}, {"why", why}, {"after", after}});
  return words::say("move.withdrawn-lost", {{"carried", carried},
                                            {"why", why},
                                            {"after", after},
                                            {"days", words::number(*lost_days, 0)}});
}

}  // namespace

void answer_move(const PendingMove& move, const ClimateChange& change, const NightFacts& night,
                 BenchMoment& m) {
  const double needed_c = m.settings().moves.change_c;
  const bool new_bench = std::isnan(change.night_before_c) && std::isnan(change.day_before_c);
  if (!change.known()) {
    // Without nights since, keeping the hold is the careful side; but a new bench has no climate
    // that could have changed.
    if (move.placed && new_bench) withdraw_move(move, change, MoveAnswer::none, m);
    if (move.placed && !new_bench) confirm(move, change, m);
  } else if (change.rise_c() >= needed_c &&
             (change.fall_c() < kNotCooler_c ||
              (m.hold() && !move.placed && change.fall_c() < needed_c))) {
    answer_warmer(move, change, night, m);
  } else if (bright_half(night) ? cooled_in_bright_half(change, m.settings().moves)
                                : std::max(change.fall_c(), change.rise_c()) >= needed_c) {
    answer_changed(move, change, m);
  } else if (move.placed) {
    withdraw_move(move, change, MoveAnswer::none, m, bright_half(night));
  }
}

void withdraw_move(const PendingMove& move, const ClimateChange& change, MoveAnswer instead,
                   BenchMoment& m, bool bright) {
  HoldEvent* event = m.holds().move_event();
  if (event == nullptr || event->proof != Proof::provisional) return;
  event->proof = Proof::withdrawn;
  if (event->also_drop)
    m.season.drop.unanswered();  // the fall was not the move's; it may still be answered
  const bool over = !m.hold()->stands();
  Decision& d = m.tell(over ? DecisionKind::hold_withdrawn : DecisionKind::notice, event->cause);
  d.since = move.since;
  d.evidence = evidence_of(move, change, m);
  const double days = days_of(m.t() - m.hold()->placed);
  if (over) d.evidence.number("feeding_days_lost", days, 1);
  d.said = withdrawn(move, change, instead, bright, over ? std::optional(days) : std::nullopt, m);
  // The move is no longer pending, so it does not keep the hold.
  if (over)
    m.undo_hold();
  else if (!m.hold()->has_detected() && m.hold()->asked_until() > m.t())
    m.withdraw_detected();
  else if (m.hold()->planned_end(m.drops()) <= m.t())
    m.end_hold_by_time();
}

}  // namespace plainwater::feeding
