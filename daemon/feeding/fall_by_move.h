// Whether a move caused a fall of the night temperature. If so, the answer to the move covers the
// fall.
#pragma once

#include <optional>

#include "feeding/bench_moment.h"
#include "feeding/pending_move.h"

namespace plainwater::feeding {

class FallByMove {
 public:
  /// The move was judged to have made the nights cooler.
  void note_cooled(const PendingMove& move) { cooled_by_ = move; }
  /// The grower released the hold, knowing of all moves so far.
  void note_released(Instant t) { released_ = t; }

  /// Whether a move caused most of the fall.
  bool explains(const season::Drop& drop, const std::optional<PendingMove>& pending,
                const BenchMoment& m) const;
  /// If a move caused the fall, tells of it and answers it together with the move; otherwise
  /// returns false. `pending`: the move that is not judged yet.
  bool claims(const season::Drop& drop, const NightFacts& night,
              const std::optional<PendingMove>& pending, BenchMoment& m) const;

  template <class A>
  void fields(A& a) {
    a(released_);
    a(cooled_by_);
  }

 private:
  struct Suspect {
    PendingMove move;
    bool late = false;  ///< the nights there fell only later
  };
  std::optional<Suspect> suspect(Instant t, const std::optional<PendingMove>& pending,
                                 const season::MoveWatch& moves) const;

  Instant released_{kNever};              ///< when the grower last released a hold
  std::optional<PendingMove> cooled_by_;  ///< the last move that made the nights cooler
};

}  // namespace plainwater::feeding
