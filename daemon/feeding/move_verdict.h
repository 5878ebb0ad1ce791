// The answer to a move once its first nights are known: its provisional hold is confirmed,
// withdrawn or turned into weak feed. It keeps no state.
#pragma once

#include "feeding/bench_moment.h"
#include "feeding/pending_move.h"

namespace plainwater::feeding {

/// Answers a move that is no longer pending, by how the climate changed with it.
void answer_move(const PendingMove& move, const season::ClimateChange& change,
                 const NightFacts& night, BenchMoment& m);
/// Withdraws the provisional event of a move; `instead` is the answer in its place. `bright`: the
/// move was judged as one in the half-year in which days lengthen.
void withdraw_move(const PendingMove& move, const season::ClimateChange& change, MoveAnswer instead,
                   BenchMoment& m, bool bright = false);

}  // namespace plainwater::feeding
