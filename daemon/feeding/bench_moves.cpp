// What a move between outdoors and indoors leads to: plain water from the moment it is seen, until
// the first nights show what it did to the bench's climate.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "feeding/bench_feeding.h"
#include "feeding/words.h"

namespace plainwater::feeding {
namespace {
constexpr int kNightsMissed = 5;  // so many uncovered ones are waited for
constexpr Span kDropFollowsMove = 12 * kDay;
constexpr double kShareOfDrop = 0.5;  // of a fall that must be the move's
constexpr double kReliefDeficit_c = 1.0;
constexpr double kNotCooler_c = 1.0;  // so much is within the scatter of a few nights
}  // namespace

MoveAnswer BenchFeeding::answer_to(Cause cause, Position to) const {
  if (cause == Cause::shuttling)
    return std::min(settings_->moves.moved_outdoors,
                    settings_->moves.moved_indoors);  // it goes both ways
  return to == Position::outdoors ? settings_->moves.moved_outdoors
                                  : settings_->moves.moved_indoors;
}

Instant BenchFeeding::weak_until(const PendingMove& move) const {
  return move.since + from_days(settings_->moves.reduced_days);
}

bool BenchFeeding::is_exempt(Instant t) const { return bench_->exempt || t < exempt_until_; }

bool BenchFeeding::may_hold(Instant t, double fall_c) const {
  const bool resting = t < rest_until_ && fall_c < drops().severe_fall_c;
  return !resting && !is_exempt(t);
}

HoldEvent* BenchFeeding::move_event() {
  if (!hold_) return nullptr;
  const auto found =
      std::find_if(hold_->events.rbegin(), hold_->events.rend(),
                   [](const HoldEvent& e) { return is_move(e.cause) && e.stands(); });
  return found == hold_->events.rend() ? nullptr : &*found;
}

void BenchFeeding::take_move(season::Carried carried, Position to, Instant since, Instant t,
                             season::BenchSeason& season, Decisions& out) {
  using season::Carried;
  const std::size_t first = out.size();
  if (carried == Carried::once) {
    PendingMove move{cause_of(to), to, since, since, false};
    if (pending_move_) {  // carried on before the first move was judged: what it had before that
                          // one counts
      move.from = pending_move_->from;
      move.placed = pending_move_->placed;
    }
    begin_move(move, t, out);
  } else if (carried == Carried::to_and_fro) {
    const Instant began = season.moves.episode();
    const HoldEvent* event = move_event();
    PendingMove move{Cause::shuttling, to, began, began, pending_move_ && pending_move_->placed};
    // An excursion that was confirmed already has answered for the pattern; an older move has not.
    if (event == nullptr || event->proof == Proof::provisional || event->moved < began)
      begin_move(move, t, out);
  }
  const bool only_move = pending_move_ && pending_move_->from == pending_move_->since;
  if (carried == Carried::undone && only_move && releasing_) {
    const PendingMove move = *pending_move_;
    pending_move_.reset();
    if (move.placed) withdraw_move(move, {}, MoveAnswer::none, t, season, out);
  }
  finish(t, first, out);
}

void BenchFeeding::shuttling_ended(const season::BenchSeason& season) {
  const Instant settled = season.moves.last_move();
  const HoldEvent* event = move_event();
  const bool answered = event != nullptr && event->moved == settled;  // with the fall of its nights
  if (answered && event->proof == Proof::confirmed) return;
  PendingMove move{Cause::shuttling, season.moves.last_to(), settled, settled, answered};
  if (pending_move_) {  // its start is not judged yet: what was before counts
    move.from = pending_move_->from;
    move.placed = pending_move_->placed;
  }
  pending_move_ = move;
}

void BenchFeeding::begin_move(const PendingMove& move, Instant t, Decisions& out) {
  pending_move_ = move;
  if (move.placed) {
    HoldEvent* event = move_event();
    if (event != nullptr && event->proof == Proof::provisional) {
      if (hold_->cause == event->cause) hold_->cause = move.cause;
      event->cause = move.cause;
      event->moved = move.since;
      return;
    }
    pending_move_->placed = false;
  }
  // A bench that is held already gets plain water anyway: whether its hold grows longer is for the
  // climate to say.
  if (hold_ || answer_to(move.cause, move.to) != MoveAnswer::hold || !may_hold(t, 0)) return;
  Decision& d = place_pending_move(t, out);
  d.text = fmt::format(
      "Plain water only: the bench was {} about {}; whether its climate changed is judged about "
      "{}.",
      words::carried(move.cause), day(move.since), day(t + settings_->moves.judged_nights * kDay));
}

Decision& BenchFeeding::place_pending_move(Instant t, Decisions& out) {
  pending_move_->placed = true;
  Decision& d =
      place_or_extend(HoldEvent::of_move(pending_move_->cause, pending_move_->since, t), t, out);
  d.since = pending_move_->since;
  d.evidence.time("moved", pending_move_->since)
      .count("judged_after_nights", settings_->moves.judged_nights);
  return d;
}

void BenchFeeding::judge_move(const NightFacts& night, season::BenchSeason& season,
                              Decisions& out) {
  if (!pending_move_ || !releasing_) return;
  PendingMove move = *pending_move_;
  if (bench_->moves == Moves::never) {  // the settings have come to say so meanwhile
    pending_move_.reset();
    if (move.placed) withdraw_move(move, {}, MoveAnswer::none, night.time, season, out);
    return;
  }
  const Span longest = (settings_->moves.judged_nights + kNightsMissed) * kDay;
  season::ClimateChange change = season.moves.climate_change(move.from, move.since);
  if (change.nights_after < settings_->moves.judged_nights) {
    if (night.time - move.from < longest) return;
    // Carried again and again: what all its nights since the first time were is what there is to
    // judge.
    move.since = move.from;
    change = season.moves.climate_change(move.from, move.from);
  }
  pending_move_.reset();
  const double needed_c = settings_->moves.change_c;
  if (change.known() && change.night_before_c - change.night_after_c >= needed_c)
    cooled_by_move_ = move;
  const bool new_bench = std::isnan(change.night_before_c) && std::isnan(change.day_before_c);
  if (!change.known()) {
    // Without nights since, the careful side is the hold that was placed; a new bench has no
    // climate that could have changed.
    if (move.placed && new_bench)
      withdraw_move(move, change, MoveAnswer::none, night.time, season, out);
    if (move.placed && !new_bench) confirm_move(move, change, night.time, out);
  } else if (change.rise_c() >= needed_c &&
             (change.fall_c() < kNotCooler_c ||
              (hold_ && !move.placed && change.fall_c() < needed_c))) {
    answer_warmer(move, change, night, season, out);
  } else if (std::max(change.fall_c(), change.rise_c()) >= needed_c) {
    answer_changed(move, change, night, season, out);
  } else if (move.placed) {
    withdraw_move(move, change, MoveAnswer::none, night.time, season, out);
  }
}

void BenchFeeding::answer_changed(const PendingMove& move, const season::ClimateChange& change,
                                  const NightFacts& night, season::BenchSeason& season,
                                  Decisions& out) {
  const Instant t = night.time;
  const MoveAnswer answer = answer_to(move.cause, move.to);
  const bool held_back = answer == MoveAnswer::hold;
  if (held_back && (move.placed || may_hold(t, change.fall_c())))
    return confirm_move(move, change, t, out);
  if (move.placed) withdraw_move(move, change, answer, t, season, out);
  if (answer == MoveAnswer::reduced) season_.after_move(t, weak_until(move), rules());
  if (move.placed) return;
  Decision& d =
      tell(out, t, DecisionKind::notice, held_back && is_exempt(t) ? Cause::exempt : move.cause);
  d.evidence = words::move_evidence(move.since, change, settings_->moves.change_c);
  d.text = fmt::format("The bench was {} ({}), but no hold was placed: {}.",
                       words::carried(move.cause), words::change(change),
                       !held_back     ? "the settings say so"
                       : is_exempt(t) ? "it is exempt"
                                      : "it had its longest plain water just before");
}

void BenchFeeding::confirm_move(const PendingMove& move, const season::ClimateChange& change,
                                Instant t, Decisions& out) {
  const bool had_one = move.placed && move_event() != nullptr;
  Decision& d = had_one ? tell(out, t, DecisionKind::hold_confirmed, move.cause)
                        : place_or_extend(HoldEvent::of_move(move.cause, move.since, t), t, out);
  HoldEvent* event = move_event();
  event->proof = Proof::confirmed;
  event->peak_c = std::max(change.fall_c(), change.rise_c());
  d.since = move.since;
  d.evidence = words::move_evidence(move.since, change, settings_->moves.change_c);
  if (event->also_drop) d.evidence.text("also", name_of(Cause::sharp_drop));
  d.evidence.number("length_days", event->length_days(drops()), 1);
  const char* ended = move.cause == Cause::shuttling && move.from == move.since && !had_one
                          ? "The bench has come to rest in one place"
                          : nullptr;
  const std::string what =
      ended != nullptr ? ended : fmt::format("The bench was {}", words::carried(move.cause));
  d.text = fmt::format("{}, {}: plain water until about {}.", what, words::change(change),
                       format_day_month(local_view().planned_end));
}

void BenchFeeding::answer_warmer(const PendingMove& move, const season::ClimateChange& change,
                                 const NightFacts& night, season::BenchSeason& season,
                                 Decisions& out) {
  const Instant t = night.time;
  const MoveAnswer by_direction = answer_to(move.cause, move.to);
  const MoveAnswer answer =
      by_direction == MoveAnswer::none ? MoveAnswer::none : settings_->moves.warmer;
  const bool holds_before = hold_ && !move.placed;
  if (holds_before) {
    const bool relief = night.deficit_c && *night.deficit_c <= kReliefDeficit_c &&
                        change.night_after_c - change.night_before_c >= settings_->moves.change_c;
    if (relief) {
      // The nights are warm because the bench was carried; that does not undo what they were, so
      // the proof stands.
      for (HoldEvent& event : hold_->events)
        if (event.cause == Cause::sharp_drop && event.proof == Proof::provisional)
          event.proof = Proof::confirmed;
      if (settings_->moves.relief_ends_hold) hold_->relieved = t;
    }
    Decision& d = tell(out, t, DecisionKind::notice, move.cause);
    d.since = move.since;
    d.evidence = words::move_evidence(move.since, change, settings_->moves.change_c);
    if (night.deficit_c) d.evidence.number("deficit_c", *night.deficit_c, 2);
    d.text =
        fmt::format("The bench was {} to warmth, {}: its plain water goes on until about {}{}.",
                    words::carried(move.cause), words::change(change),
                    format_day_month(local_view().planned_end),
                    relief && settings_->moves.relief_ends_hold
                        ? ", shortened because the settings let relief end a hold"
                        : "");
    return;
  }
  if (answer == MoveAnswer::hold) {
    if (move.placed || may_hold(t, 0)) confirm_move(move, change, t, out);
    return;
  }
  if (move.placed) withdraw_move(move, change, answer, t, season, out);
  if (answer == MoveAnswer::reduced) {
    season_.after_move(t, weak_until(move), rules());
    if (move.placed) return;
    Decision& d = tell(out, t, DecisionKind::notice, move.cause);
    d.evidence = words::move_evidence(move.since, change, settings_->moves.change_c);
    d.text = fmt::format("The bench was {} to warmth, {}: weak feed at most until {}.",
                         words::carried(move.cause), words::change(change), day(weak_until(move)));
  }
}

void BenchFeeding::withdraw_move(const PendingMove& move, const season::ClimateChange& change,
                                 MoveAnswer instead, Instant t, season::BenchSeason& season,
                                 Decisions& out) {
  HoldEvent* event = move_event();
  if (event == nullptr || event->proof != Proof::provisional) return;
  event->proof = Proof::withdrawn;
  if (event->also_drop)
    season.drop.unanswered();  // the fall was not the move's after all; it may still be answered
  const bool over = !hold_->stands();
  Decision& d =
      tell(out, t, over ? DecisionKind::hold_withdrawn : DecisionKind::notice, event->cause);
  d.since = move.since;
  d.evidence = words::move_evidence(move.since, change, settings_->moves.change_c);
  const double days = days_of(t - hold_->placed);
  if (over) d.evidence.number("feeding_days_lost", days, 1);
  const bool changed = std::max(change.fall_c(), change.rise_c()) >= settings_->moves.change_c;
  const char* what = "for which the settings ask no hold";
  if (bench_->moves == Moves::never)
    what = "but the settings say that it never moves";
  else if (change.nights_after == 0)
    what = "and back at once";
  else if (!change.known())
    what = "but what it had before is not known";
  else if (!changed)
    what = "but its climate hardly changed";
  else if (change.fall_c() == 0)
    what = "to warmth";
  const std::string after = instead == MoveAnswer::reduced
                                ? fmt::format("weak feed at most until {}", day(weak_until(move)))
                            : over ? std::string("feeding goes on as before")
                                   : fmt::format("the hold ends about {}, as without it",
                                                 format_day_month(local_view().planned_end));
  const std::string figures = change.known() ? " (" + words::change(change) + ")" : "";
  d.text = fmt::format("The bench was {}, {}{}: {}{}.", words::carried(move.cause), what, figures,
                       after, over ? fmt::format("; {:.0f} feeding days were lost", days) : "");
  if (over)
    undo_hold(t);
  else if (hold_->planned_end(drops()) <= t)
    end_by_time(t, season, out);
}

bool BenchFeeding::drop_by_move(const season::Drop& drop, const NightFacts& night,
                                season::BenchSeason& season, Decisions& out) {
  // A move that is not judged yet, one of which the judgement found cooler nights, or one that took
  // the bench to where nights fell later; the way back of a short stay has left the nights as they
  // were.
  std::optional<PendingMove> move = pending_move_ ? pending_move_ : cooled_by_move_;
  const Instant resting = season.moves.resting_move(night.time);
  const bool late = resting != kNever && (!move || (!pending_move_ && move->since < resting));
  if (late) {
    const bool shuttling = season.moves.pattern() == season::Pattern::shuttling;
    move = PendingMove{shuttling ? Cause::shuttling : cause_of(season.moves.last_to()),
                       season.moves.last_to(), resting, resting, false};
  }
  if (!move || night.time - move->since > kDropFollowsMove) return false;
  const season::ClimateChange change = season.moves.climate_change(move->from, move->since);
  if (!(change.night_before_c - change.night_after_c >= kShareOfDrop * drop.fall_c())) return false;
  season.drop.answered(night.night);
  HoldEvent* event = move_event();
  const bool released = move->since <= moves_released_;  // by the grower, who need not say it twice
  const bool unanswered = late && (event == nullptr || event->moved < move->since) && !released &&
                          answer_to(move->cause, move->to) == MoveAnswer::hold &&
                          may_hold(night.time, drop.fall_c());
  if (unanswered) {
    HoldEvent fresh = HoldEvent::of(drop, night.time);
    fresh.cause = move->cause;
    fresh.moved = move->since;
    place_or_extend(std::move(fresh), night.time, out);
    event = move_event();
  } else {
    tell(out, night.time, DecisionKind::notice, move->cause);
  }
  if (event != nullptr) event->also_drop = true;
  Decision& d = out.back();
  d.since = move->since;
  d.evidence = words::move_evidence(move->since, change, settings_->moves.change_c);
  d.evidence.text("also", name_of(Cause::sharp_drop))
      .number("week_before_c", drop.before_c, 2)
      .number("fall_c", drop.fall_c(), 2)
      .number("deficit_c", drop.deficit_c, 2);
  const std::string answer =
      unanswered         ? fmt::format("plain water only; whether it lasts is decided about {}",
                                       day(night.time + from_days(drops().decide_night)))
      : event != nullptr ? fmt::format("its plain water, until about {}, answers both",
                                       format_day_month(local_view().planned_end))
      : pending_move_    ? std::string("it is answered with the move")
      : is_exempt(night.time) ? std::string("the bench is exempt")
                              : std::string("no hold follows, as for the move");
  d.text = fmt::format(
      "The nights' fall from {:.1f} to {:.1f} °C is the move's, since the bench was {} about {}: "
      "{}.",
      drop.base_c, drop.landing_c, words::carried(move->cause), day(move->since), answer);
  return true;
}

bool BenchFeeding::hold_on_for_move(Instant t, Decisions& out) {
  if (!pending_move_ || pending_move_->placed ||
      answer_to(pending_move_->cause, pending_move_->to) != MoveAnswer::hold || !may_hold(t, 0))
    return false;
  const PendingMove& move = *pending_move_;
  Decision& d = place_pending_move(t, out);
  d.text = fmt::format(
      "The hold would end now, but the bench was {} about {}: plain water goes on until it is "
      "clear whether its climate changed.",
      words::carried(move.cause), day(move.since));
  return true;
}

}  // namespace plainwater::feeding
