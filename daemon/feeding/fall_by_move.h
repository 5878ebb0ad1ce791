// Whether a fall of the nights is the work of a move, which has been or will be answered as such.
#pragma once

#include <optional>

#include "feeding/bench_moment.h"
#include "feeding/pending_move.h"

namespace plainwater::feeding {

class FallByMove {
 public:
  /// The move was judged to have made the nights cooler.
  void note_cooled(const PendingMove& move) { cooled_by_ = move; }
  /// The grower released the hold, knowing of all moves before.
  void note_released(Instant t) { released_ = t; }

  /// Whether most of the fall is a move's work.
  bool explains(const season::Drop& drop, const std::optional<PendingMove>& pending,
                const BenchMoment& m) const;
  /// Tells of the fall and answers it with the move when it is one's work; false when none is.
  /// `pending`: the move that is not judged yet.
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
    bool late = false;  ///< it brought the bench to where nights fell later
  };
  std::optional<Suspect> suspect(Instant t, const std::optional<PendingMove>& pending,
                                 const season::MoveWatch& moves) const;

  Instant released_{kNever};              ///< holds up to then were released by the grower
  std::optional<PendingMove> cooled_by_;  ///< the last that made the nights cooler
};

}  // namespace plainwater::feeding
