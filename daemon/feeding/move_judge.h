// Answers a move between outdoors and indoors: plain water from the moment it is noticed, until the
// first nights show what it did to the bench's climate.
#pragma once

#include <optional>

#include "feeding/bench_moment.h"
#include "feeding/fall_by_move.h"
#include "feeding/pending_move.h"

namespace plainwater::feeding {

class MoveJudge {
 public:
  /// The bench was carried from one known place to the other; `carried` is what `season.moves` made
  /// of it.
  void take(season::Carried carried, Position to, Instant since, BenchMoment& m);
  /// Shuttling has ended; called at the next close of a night.
  void shuttling_ended(const season::MoveWatch& moves, const HoldKeeper& holds);
  /// Judges the pending move once enough of its nights are known. Called at a night's close; waits
  /// while nothing is released.
  void judge(const NightFacts& night, BenchMoment& m);

  bool pending() const { return pending_.has_value(); }
  /// Whether a move caused the fall of the nights; then it is answered together with the move.
  bool claims_fall(const season::Drop& drop, const NightFacts& night, BenchMoment& m) const {
    return falls_.claims(drop, night, pending_, m);
  }

  bool explains_fall(const season::Drop& drop, const BenchMoment& m) const {
    return falls_.explains(drop, pending_, m);
  }

  /// The hold's planned end has come: ends it, unless a move not judged yet keeps it.
  void end_hold_by_time(BenchMoment& m);
  /// A hold has ended: a pending move that had an event in it counts as answered.
  void hold_ended();
  /// The grower released the hold, knowing of the move.
  void hold_released(Instant t);

  /// For a bench that goes on for both, with the nights of this one; `holds` has the events of
  /// both.
  void join(const MoveJudge& other, HoldKeeper& holds);

  template <class A>
  void fields(A& a) {
    a(pending_);
    a(falls_);
  }

 private:
  void begin(const PendingMove& move, BenchMoment& m);
  /// Places a provisional event for the pending move. The caller must still put the decision into
  /// words.
  Decision& place_pending(BenchMoment& m);
  /// Whether a move not judged yet keeps the hold from ending.
  bool keeps_hold(BenchMoment& m);

  std::optional<PendingMove> pending_;
  FallByMove falls_;
};

}  // namespace plainwater::feeding
