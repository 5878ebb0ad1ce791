// One bench's feeding: puts together what limits it (allowance.h has the precedence), what answers
// its nights and its moves, and the grower's word. Each part keeps its own state and rules; here is
// only the order in which they are asked, and every change of the share is told once.
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

  /// The bench's first moment: the season's share before any night is known.
  void begin(const SeasonFacts& season, Instant t, Decisions& out);
  /// False for a bench that is new to the settings; it gets plain water until it has begun.
  bool begun() const { return allowance_.begun; }
  /// While the clock is not believed nothing is released: no end by time, no withdrawal, no rise.
  void allow_release(bool allowed) { allowance_.releasing = allowed; }
  /// Nobody knows what time it is: plain water. `tell_share` says so.
  void without_time(bool unknown) { allowance_.timeless = unknown; }
  /// Tells the share at `t` where it has changed.
  void tell_share(Instant t, Decisions& out) { finish(out.size(), at(t, out)); }
  /// Its pump is not trusted: plain water until it is again.
  void forbid(bool forbidden, Instant t, Decisions& out);
  /// A question that stands until it is acknowledged.
  void ask(Decisions& out, Instant t, Cause cause, const words::Sentence& question);
  void take_night(const NightFacts& night, season::BenchSeason& season, Decisions& out);
  /// The bench was carried from one known place to the other, as `season.moves` took it.
  void take_move(season::Carried carried, Position to, Instant since, Instant t,
                 season::BenchSeason& season, Decisions& out);
  /// Shuttling has ended, at the night's close that follows.
  void shuttling_ended(const season::BenchSeason& season) {
    moves_.shuttling_ended(season.moves, allowance_.holds);
  }
  /// The air was under the chill floor, as is known now; the bench is at `place`.
  void take_cold(const ColdStretch& cold, Position place, Instant t, Decisions& out);
  Reply take_request(const Request& request, Instant t, season::BenchSeason& season,
                     Decisions& out);
  /// Fires what is due at `t`, which is at or after `next_due()`.
  void take_due(Instant t, season::BenchSeason& season, Decisions& out);
  Instant next_due() const;

  Share effective(Instant t) const { return allowance_.share(t, settings_->feeding); }
  /// `moves`: what became of the bench since its hold was placed.
  words::Sentence because(Instant t, const season::MoveWatch& moves) const;
  std::optional<HoldView> hold() const;
  const SeasonFeeding& season() const { return allowance_.season; }
  Instant changed() const { return told_.changed(); }
  /// A chill does not run out by a clock that is not believed.
  bool chilled(Instant t) const { return allowance_.chilled(t); }
  Instant chilled_until() const { return allowance_.chill.until(); }
  int blind_nights() const { return allowance_.blindness.nights(); }
  /// Days of plain water by detected holds in the 365 days before `t`.
  double plain_days_in_year(Instant t) const {
    return limits_.plain_days_in_year(t, allowance_.holds);
  }
  std::vector<Question> questions() const { return questions_.list(); }

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
  Teller at(Instant t, Decisions& out) const {
    return {*bench_, *settings_, allowance_.holds, t, out};
  }
  BenchMoment at(Instant t, season::BenchSeason& season, Decisions& out) {
    return {at(t, out), allowance_, limits_, questions_, season};
  }
  /// Of a move that is held: that the bench was carried back; empty: it was not.
  words::Sentence since_placed(const season::MoveWatch& moves) const;
  /// Completes the decisions told since `first` with the share to which they led.
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
