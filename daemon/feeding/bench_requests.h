// Answers the grower's requests about one bench: holds, releases, exemptions, growth. Keeps no
// state.
#pragma once

#include "feeding/announcements.h"
#include "feeding/bench_moment.h"
#include "feeding/move_judge.h"
#include "feeding/request.h"

namespace plainwater::feeding {

/// Refuses a request that is not about a bench's feeding ("not-a-bench-request",
/// "not-a-feeding-request").
Reply answer_request(const Request& request, Announcements& announced, MoveJudge& moves,
                     BenchMoment& m);

/// Places the announced hold whose time has come.
void begin_announced(const Announced& due, BenchMoment& m);

}  // namespace plainwater::feeding
