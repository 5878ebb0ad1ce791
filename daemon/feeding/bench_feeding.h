// One bench's feeding: puts together its limits (allowance.h has the precedence), the answers to
// its nights and moves, and the grower's word. Each part keeps its own state and rules; this class
// only decides in which order they are asked, and tells every change of the share once.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "feeding/allowance.h"
#include "feeding/announcements.h"
#include "feeding/drop_judge.h"
#include "feeding/hold_limits.h"
#include "feeding/move_judge.h"
#include "feeding/night_facts.h"
#include "feeding/questions.h"
#include "feeding/reminders.h"
#include "feeding/request.h"
#include "feeding/share_told.h"
#include "season/bench_season.h"

namespace plainwater::feeding {

class BenchFeeding {
 public:
  using Share = feeding::Share;
  using Decisions = feeding::Decisions;

  BenchFeeding(const Bench* bench, const Settings* settings) : bench_(bench), settings_(settings) {}

  /// The bench's first moment: sets the season's share before any night is known.
  void begin(const SeasonFacts& season, Instant t, Decisions& out);
  /// False for a bench that is new to the settings; it gets plain water until it has begun.
  bool begun() const { return allowance_.begun; }
  /// It was out of the settings: plain water until `begin` says what the season allows now.
  void begin_again() { allowance_.begun = false; }
  /// While the clock is not believed nothing is released: no end by time, no withdrawal, no rise.
  void allow_release(bool allowed) { allowance_.releasing = allowed; }
  /// While nobody knows what time it is, the bench gets plain water. `tell_share` then says so.
  void without_time(bool unknown) { allowance_.timeless = unknown; }
  /// Tells the share at `t` if it has changed.
  void tell_share(Instant t, Decisions& out) { finish(out.size(), at(t, out)); }
  /// While its pump is not trusted, the bench gets plain water.
  void forbid(bool forbidden, Instant t, Decisions& out);
  /// Asks a question that stays open until it is acknowledged.
  void ask(Decisions& out, Instant t, Cause cause, const words::Sentence& question);
  void take_night(const NightFacts& night, season::BenchSeason& season, Decisions& out);
  /// The bench was carried from one known place to the other; `carried` is what `season.moves` made
  /// of it.
  void take_move(season::Carried carried, Position to, Instant since, Instant t,
                 season::BenchSeason& season, Decisions& out);
  /// Shuttling has ended; called at the next close of a night.
  void shuttling_ended(const season::BenchSeason& season) {
    moves_.shuttling_ended(season.moves, allowance_.holds);
  }
  /// The air is now known to have been under the chill floor; the bench is at `place`.
  void take_cold(const ColdStretch& cold, Position place, Instant t, Decisions& out);
  Reply take_request(const Request& request, Instant t, season::BenchSeason& season,
                     Decisions& out);
  /// Fires what is due at `t`, which is at or after `next_due()`.
  void take_due(Instant t, season::BenchSeason& season, Decisions& out);
  Instant next_due() const;

  Share effective(Instant t) const { return allowance_.share(t, settings_->feeding); }
  /// Why the bench is fed so. `moves` shows whether it was carried since its hold was placed.
  words::Sentence because(Instant t, const season::MoveWatch& moves) const;
  std::optional<HoldView> hold() const;
  const SeasonFeeding& season() const { return allowance_.season; }
  Instant changed() const { return told_.changed(); }
  bool chilled() const { return allowance_.chill.active(); }
  Instant chilled_until() const { return allowance_.chill.until(); }
  bool chilled_outdoors() const { return allowance_.chill.was_outdoors(); }
  int blind_nights() const { return allowance_.blindness.nights(); }
  /// Days of plain water from detected holds in the 365 days before `t`.
  double plain_days_in_year(Instant t) const {
    return limits_.plain_days_in_year(t, allowance_.holds);
  }
  /// As they are said at `t`.
  std::vector<Question> questions(Instant t) const {
    return questions_.list(settings_->site.local(t));
  }
  const std::vector<Announced>& announced() const { return announced_.all(); }
  /// In force beside each other, as people asked for them.
  std::size_t holds_asked() const;
  /// kNever: no person exempted the bench.
  Instant exempt_until() const { return limits_.exempt_until(); }
  /// kNever, or past: cold air stops the feed.
  Instant cold_passes_until() const { return allowance_.chill.passes_until(); }

  /// For a bench that goes on for both: every hold, chill, question and announcement of either.
  void join(const BenchFeeding& other);

  template <class A>
  void fields(A& a) {
    a(allowance_);
    a(limits_);
    a(announced_);
    a(questions_);
    a(drops_);
    a(reminders_);
    a(told_);
    a(moves_);
  }

 private:
  bool fed(Instant t) const { return effective(t).feeding != Feeding::plain_water; }
  Teller at(Instant t, Decisions& out) const {
    return {*bench_, *settings_, allowance_.holds, t, out};
  }
  BenchMoment at(Instant t, season::BenchSeason& season, Decisions& out) {
    return {at(t, out), allowance_, limits_, questions_, season};
  }
  /// For a hold placed by a move: that the bench was carried back since; empty if it was not. `now`
  /// is what the site's clocks show.
  words::Sentence since_placed(const season::MoveWatch& moves, Instant now) const;
  /// What goes on if what lasts longest of the hold in force ends sooner; empty: nothing does.
  words::Sentence kept(Instant t) const;
  /// Completes the decisions from index `first` on with the share to which they led.
  void finish(std::size_t first, const Teller& to);

  const Bench* bench_;
  const Settings* settings_;
  Allowance allowance_;
  HoldLimits limits_;
  Announcements announced_;
  Questions questions_;
  DropJudge drops_;
  Reminders reminders_;
  ShareTold told_;
  MoveJudge moves_;
};

}  // namespace plainwater::feeding
