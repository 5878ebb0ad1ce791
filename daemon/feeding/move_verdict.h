// The answer to a move once its first nights are known: its provisional hold is confirmed,
// withdrawn or turned into weak feed. It keeps no state.
#pragma once

#include "feeding/bench_moment.h"
#include "feeding/pending_move.h"

namespace plainwater::feeding {

/// Answers a move that no longer waits, by how the climate changed with it.
void answer_move(const PendingMove& move, const season::ClimateChange& change,
                 const NightFacts& night, BenchMoment& m);
/// Takes back the provisional event of a move; `instead` is what follows. `bright`: it was judged
/// as one of the half-year in which days lengthen.
void withdraw_move(const PendingMove& move, const season::ClimateChange& change, MoveAnswer instead,
                   BenchMoment& m, bool bright = false);

}  // namespace plainwater::feeding
