// Answers a sharp drop of the night temperature: places a hold and lets later nights prove it, or
// records that the drop was let pass.
#pragma once

#include "feeding/bench_moment.h"
#include "feeding/move_judge.h"

namespace plainwater::feeding {

class DropJudge {
 public:
  /// Lets the night prove or withdraw the events of the hold in force.
  void prove(const NightFacts& night, MoveJudge& moves, BenchMoment& m) const;
  void answer(const season::Drop& drop, const NightFacts& night, const MoveJudge& moves,
              BenchMoment& m);

  template <class A>
  void fields(A& a) {
    a.day(seen_night_);
  }

 private:
  /// Records that a drop was let pass, once for all nights of the same fall.
  void tell_let_pass(const season::Drop& drop, const NightFacts& night, Cause cause,
                     const words::Sentence& why, BenchMoment& m);

  std::int64_t seen_night_ = -1000;  ///< solar day on which a drop let pass was last recorded
};

}  // namespace plainwater::feeding
