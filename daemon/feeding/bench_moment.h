// A bench at one moment: what an answer to its climate or its grower may change, and where the
// decisions go. Changes to its hold are made here, because feed, limits and season follow from
// them.
#pragma once

#include "feeding/allowance.h"
#include "feeding/hold_limits.h"
#include "feeding/questions.h"
#include "feeding/teller.h"
#include "season/bench_season.h"

namespace plainwater::feeding {

/// Lives within one call; everything passed to it must outlive it.
struct BenchMoment : Teller {
  BenchMoment(const Teller& teller, Allowance& of_bench, HoldLimits& its_limits,
              Questions& its_questions, season::BenchSeason& its_season)
      : Teller(teller),
        allowance(of_bench),
        limits(its_limits),
        questions(its_questions),
        season(its_season) {}

  Allowance& allowance;
  HoldLimits& limits;
  Questions& questions;
  season::BenchSeason& season;

  HoldKeeper& holds() { return allowance.holds; }
  const std::optional<Hold>& hold() const { return allowance.holds.hold(); }
  Share share() const { return allowance.share(t(), rules()); }
  bool exempt() const { return limits.exempt(bench(), t()); }
  bool may_hold(double fall_c) const { return limits.may_hold(bench(), t(), fall_c, drops()); }
  void ask(Cause cause, const words::Sentence& question) { questions.ask(*this, cause, question); }

  /// Adds the event to the hold in force, or places a hold with it. The caller must still put the
  /// decision into words.
  Decision& place_or_extend(HoldEvent event);
  /// Places a hold that a person asks for, or takes it into the hold in force: hold-extended when
  /// it now lasts longest, a notice when a longer one is in force and it is kept beside that. Null
  /// if too many are kept already; nothing has changed then.
  Decision* take_asked(HoldEvent event);
  /// Undoes the hold as if it had never been: the earlier feeding comes back.
  void undo_hold();
  void end_hold();
  /// Ends of the hold in force what lasts longest, and lets the rest of it go on.
  void end_longest();
  /// What was detected is over, but what people asked for goes on.
  void end_detected();
  /// The same, as if it had never been.
  void withdraw_detected();
  /// Ends the hold because its planned end has come, and tells so.
  void end_hold_by_time();

 private:
  /// The days of what was detected count for the year.
  void count_detected();
  /// The plants are used to what was detected.
  void get_used();
};

}  // namespace plainwater::feeding
