// What a move between outdoors and indoors leads to: plain water from the moment it is seen, until
// the first nights show what it did to the bench's climate.
#pragma once

#include <optional>

#include "feeding/bench_moment.h"
#include "feeding/fall_by_move.h"
#include "feeding/pending_move.h"

namespace plainwater::feeding {

class MoveJudge {
 public:
  /// The bench was carried from one known place to the other, as `season.moves` took it.
  void take(season::Carried carried, Position to, Instant since, BenchMoment& m);
  /// Shuttling has ended, at the night's close that follows.
  void shuttling_ended(const season::MoveWatch& moves, const HoldKeeper& holds);
  /// Judges the pending move when its nights are there; at a night's close, while things are
  /// released.
  void judge(const NightFacts& night, BenchMoment& m);

  bool pending() const { return pending_.has_value(); }
  /// Whether the fall of the nights is a move's work and was answered as such.
  bool claims_fall(const season::Drop& drop, const NightFacts& night, BenchMoment& m) const {
    return falls_.claims(drop, night, pending_, m);
  }

  bool explains_fall(const season::Drop& drop, const BenchMoment& m) const {
    return falls_.explains(drop, pending_, m);
  }

  /// The planned end of the hold has come: ends it, unless a move that is not judged yet keeps it.
  void end_hold_by_time(BenchMoment& m);
  /// A hold has ended: a move of which an event stood in it is answered.
  void hold_ended();
  /// The grower releases the hold, and knows of the move too.
  void hold_released(Instant t);

  template <class A>
  void fields(A& a) {
    a(pending_);
    a(falls_);
  }

 private:
  void begin(const PendingMove& move, BenchMoment& m);
  /// A provisional event of the pending move; the decision lacks its words yet.
  Decision& place_pending(BenchMoment& m);
  /// A move that is not judged yet keeps the hold from ending.
  bool keeps_hold(BenchMoment& m);

  std::optional<PendingMove> pending_;
  FallByMove falls_;
};

}  // namespace plainwater::feeding
