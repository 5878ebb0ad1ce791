// One bench's feeding: holds, chill, blindness, the grower's word and the season's share, in this
// precedence:
//
//   1. a pump that is not trusted        plain water
//   2. chill, and seven blind nights     plain water
//   3. the grower's word                 hold, release, exempt, growth started
//   4. a detected hold                   plain water
//   5. two blind nights                  at most the weakest feed
//   6. the season                        full, reduced, ramps
//
// `effective` mirrors this table line by line. An exemption never beats chill.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "climate/night.h"
#include "feeding/hold.h"
#include "feeding/request.h"
#include "feeding/season_feeding.h"
#include "season/bench_season.h"

namespace plainwater::feeding {

/// A closed night as feeding takes it.
struct NightFacts {
  Instant time{};          ///< of the close
  std::int64_t night = 0;  ///< solar day
  climate::BenchNight air;
  bool counted = false;  ///< covered well enough and not suspect
  std::optional<double> deficit_c;
  bool days_shorten = false;
  bool long_days = false;  ///< the half-year with days over 12 h
  SeasonFacts season;
};

/// A move whose climate is not judged yet.
struct PendingMove {
  Cause cause = Cause::moved_outdoors;
  Position to = Position::unknown;
  Instant from{};       ///< the nights before it count as before
  Instant since{};      ///< the nights after it count as after
  bool placed = false;  ///< a provisional event of it stands
  template <class A>
  void fields(A& a) {
    a(cause);
    a(to);
    a(from);
    a(since);
    a(placed);
  }
};

struct Announced {
  Instant from{}, until{};
  std::string who, note;
  template <class A>
  void fields(A& a) {
    a(from);
    a(until);
    a(who);
    a(note);
  }
};

/// Plain water of detected holds, for the yearly count.
struct PlainSpell {
  Instant from{}, to{};
  template <class A>
  void fields(A& a) {
    a(from);
    a(to);
  }
};

class BenchFeeding {
 public:
  struct Share {
    Feeding feeding = Feeding::full;
    int percent = 100;
    Cause cause = Cause::none;
    bool operator==(const Share&) const = default;
  };
  using Decisions = std::vector<Decision>;

  BenchFeeding(const Bench* bench, const Settings* settings) : bench_(bench), settings_(settings) {}

  /// The bench's first moment: the season's share before any night is known.
  void begin(const SeasonFacts& season, Instant t, Decisions& out);
  /// False for a bench that is new to the settings; it gets plain water until it has begun.
  bool begun() const { return begun_; }
  /// While the clock is not believed nothing is released: no end by time, no withdrawal, no rise.
  void allow_release(bool allowed) { releasing_ = allowed; }
  /// Its pump is not trusted: plain water until it is again.
  void forbid(bool forbidden, Instant t, Decisions& out);
  /// A question that stands until it is acknowledged.
  void ask(Decisions& out, Instant t, Cause cause, const std::string& question);
  void take_night(const NightFacts& night, season::BenchSeason& season, Decisions& out);
  /// The bench was carried from one known place to the other, as `season.moves` took it.
  void take_move(season::Carried carried, Position to, Instant since, Instant t,
                 season::BenchSeason& season, Decisions& out);
  /// Shuttling has ended, at the night's close that follows.
  void shuttling_ended(const season::BenchSeason& season);
  /// The air fell under the chill floor, now, to `air_c`.
  void take_chill(Instant t, double air_c, Decisions& out);
  Reply take_request(const Request& request, Instant t, season::BenchSeason& season,
                     Decisions& out);
  /// Fires what is due at `t`, which is at or after `next_due()`.
  void take_due(Instant t, season::BenchSeason& season, Decisions& out);
  Instant next_due() const;

  Share effective(Instant t) const;
  std::string because(Instant t) const;
  std::optional<HoldView> hold() const;
  const SeasonFeeding& season() const { return season_; }
  Instant changed() const { return changed_; }
  /// A chill does not run out by a clock that is not believed.
  bool chilled(Instant t) const {
    return t < chill_until_ || (!releasing_ && chill_until_ != kNever);
  }
  Instant chilled_until() const { return chill_until_; }
  int blind_nights() const { return blind_nights_; }
  /// Days of plain water by detected holds in the 365 days before `t`.
  double plain_days_in_year(Instant t) const;
  std::vector<Question> questions() const;

  template <class A>
  void fields(A& a) {
    a(begun_);
    a(releasing_);
    a(forbidden_);
    a(season_);
    a(hold_);
    a(last_hold_id_);
    a(chill_until_);
    a(chill_told_);
    a(blind_nights_);
    a(exempt_until_);
    a(rest_until_);
    a(spells_);
    a(announced_);
    a(questions_);
    a(seen_night_);
    a(budget_asked_);
    a(spring_asked_);
    a(long_days_since_);
    a(shown_);
    a(changed_);
    a(pending_move_);
    a(moves_released_);
    a(cooled_by_move_);
  }

 private:
  struct Shown {  ///< the share last told
    Feeding feeding = Feeding::full;
    std::int32_t percent = 100;
    Cause cause = Cause::none;
    bool told = false;
    template <class A>
    void fields(A& a) {
      a(feeding);
      a(percent);
      a(cause);
      a(told);
    }
  };

  const DropRules& drops() const { return settings_->drops; }
  const FeedingRules& rules() const { return settings_->feeding; }
  /// As the site's clocks show it, for sentences.
  Instant local(Instant t) const { return settings_->site.local(t); }
  HoldView local_view() const;
  std::string because_now(Instant t) const;
  std::string day(Instant t) const { return format_day_month(local(t)); }
  Decision& tell(Decisions& out, Instant t, DecisionKind kind, Cause cause) const;
  /// Completes the decisions told since `first` with the feeding they lead to; adds feeding-changed
  /// where none says so.
  void finish(Instant t, std::size_t first, Decisions& out);

  void count_blindness(const NightFacts& night, Decisions& out);
  void prove_events(const NightFacts& night, season::BenchSeason& season, Decisions& out);
  void consider_drop(const season::Drop& drop, const NightFacts& night, season::BenchSeason& season,
                     Decisions& out);
  void ask_questions(const NightFacts& night, Decisions& out);

  MoveAnswer answer_to(Cause cause, Position to) const;
  void begin_move(const PendingMove& move, Instant t, Decisions& out);
  /// A provisional event of the pending move; the decision lacks its words yet.
  Decision& place_pending_move(Instant t, Decisions& out);
  /// The end of the weak feed after a move to warmth.
  Instant weak_until(const PendingMove& move) const;
  void judge_move(const NightFacts& night, season::BenchSeason& season, Decisions& out);
  /// Another climate, and not simply a warmer one.
  void answer_changed(const PendingMove& move, const season::ClimateChange& change,
                      const NightFacts& night, season::BenchSeason& season, Decisions& out);
  void answer_warmer(const PendingMove& move, const season::ClimateChange& change,
                     const NightFacts& night, season::BenchSeason& season, Decisions& out);
  void confirm_move(const PendingMove& move, const season::ClimateChange& change, Instant t,
                    Decisions& out);
  /// Takes back the provisional event of a move.
  void withdraw_move(const PendingMove& move, const season::ClimateChange& change,
                     MoveAnswer instead, Instant t, season::BenchSeason& season, Decisions& out);
  /// The standing event of a move; null when there is none.
  HoldEvent* move_event();
  /// Whether the fall of the nights is a move's work and was answered as such.
  bool drop_by_move(const season::Drop& drop, const NightFacts& night, season::BenchSeason& season,
                    Decisions& out);
  /// A move that is not judged yet keeps a hold from ending.
  bool hold_on_for_move(Instant t, Decisions& out);
  bool is_exempt(Instant t) const;
  bool may_hold(Instant t, double fall_c) const;

  /// Adds the event to the hold in force, or places a hold with it; the decision that says so lacks
  /// its words yet.
  Decision& place_or_extend(HoldEvent event, Instant t, Decisions& out);
  void end_hold(Instant t, season::BenchSeason& season);
  void withdraw(const HoldEvent& event, Instant t, std::int64_t night, season::BenchSeason& season,
                Decisions& out);
  /// The hold never was: the feeding of before comes back.
  void undo_hold(Instant t);
  void end_by_time(Instant t, season::BenchSeason& season, Decisions& out);
  void begin_announced(Instant t, Decisions& out);

  Reply hold_requested(const Request& request, Instant t, Decisions& out);
  Reply release_requested(const Request& request, Instant t, season::BenchSeason& season,
                          Decisions& out);
  Reply extend_requested(const Request& request, Instant t, Decisions& out);
  Reply exempt_requested(const Request& request, Instant t, season::BenchSeason& season,
                         Decisions& out);
  Reply growth_requested(const Request& request, Instant t, Decisions& out);
  Reply acknowledge_requested(const Request& request, Instant t, Decisions& out);

  const Bench* bench_;
  const Settings* settings_;
  bool begun_ = false;
  bool releasing_ = true;
  bool forbidden_ = false;
  SeasonFeeding season_;
  std::optional<Hold> hold_;
  std::uint32_t last_hold_id_ = 0;
  Instant chill_until_{kNever};
  Instant chill_told_{kNever};  ///< the last word of the ledger about it
  std::int32_t blind_nights_ = 0;
  Instant exempt_until_{kNever};
  Instant rest_until_{kNever};  ///< no new detected hold before, unless severe
  std::vector<PlainSpell> spells_;
  std::vector<Announced> announced_;
  std::optional<PendingMove> pending_move_;
  Instant moves_released_{kNever};  ///< holds up to then were released by the grower
  std::optional<PendingMove>
      cooled_by_move_;  ///< the last move that was judged to have made the nights cooler
  std::map<std::string, std::string> questions_;  ///< by cause, one sentence each
  std::int64_t seen_night_ = -1000;               ///< a drop that the gate let pass was told of
  Instant budget_asked_{kNever};
  bool spring_asked_ = false;
  std::int64_t long_days_since_ = -1;
  Shown shown_;
  Instant changed_{kNever};
};

}  // namespace plainwater::feeding
