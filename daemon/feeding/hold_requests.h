// Requests about holds that people ask for: those in force, and those announced.
#pragma once

#include "feeding/announcements.h"
#include "feeding/bench_moment.h"
#include "feeding/move_judge.h"
#include "feeding/request.h"

namespace plainwater::feeding {

/// A hold released by name within this time was never meant: the bench is fed as before it.
inline constexpr Span kJustPlaced = kDay;

Reply hold_requested(const Request& request, Announcements& announced, BenchMoment& m);
Reply release_requested(const Request& request, MoveJudge& moves, BenchMoment& m);
Reply extend_requested(const Request& request, BenchMoment& m);
Reply withdraw_requested(const Request& request, Announcements& announced, BenchMoment& m);

}  // namespace plainwater::feeding
