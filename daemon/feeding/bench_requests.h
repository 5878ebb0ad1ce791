// The grower's word about one bench: holds, releases, exemptions, growth. It keeps no state.
#pragma once

#include "feeding/announcements.h"
#include "feeding/bench_moment.h"
#include "feeding/move_judge.h"
#include "feeding/request.h"

namespace plainwater::feeding {

/// Answers; a request that is about no bench's feeding is refused ("not-a-bench-request",
/// "not-a-feeding-request").
Reply answer_request(const Request& request, Announcements& announced, MoveJudge& moves,
                     BenchMoment& m);

/// Places the announced hold whose time has come.
void begin_announced(const Announced& due, BenchMoment& m);

}  // namespace plainwater::feeding
