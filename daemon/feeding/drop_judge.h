// What a sharp drop of the nights leads to: a hold, the nights that prove it, or a word that it was
// let pass.
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
  /// In the ledger, once for the nights of one fall.
  void tell_let_pass(const season::Drop& drop, const NightFacts& night, Cause cause,
                     const words::Sentence& why, BenchMoment& m);

  std::int64_t seen_night_ = -1000;  ///< solar day on which one that was let pass was told of
};

}  // namespace plainwater::feeding
