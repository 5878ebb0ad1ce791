// Two short lines for a display board beside the bench: plain ASCII, at most kPlacardWidth characters each.
#pragma once

#include <string>

#include "engine/engine.h"
#include "outlet/local_time.h"
#include "settings/settings.h"

namespace plainwater::outlet {

inline constexpr std::size_t kPlacardWidth = 20;

/// When a provisional hold of the bench, which must have one, is confirmed or withdrawn, about.
Instant decision_day(const engine::BenchNow& bench, const Settings& settings);

/// "PLAIN WATER ONLY\ndecides 14 Oct", "FEED 40 %\nafter a hold", "FULL FEED\nsince 3 Mar". Never a line end after the
/// second line.
std::string placard(const engine::BenchNow& bench, const Settings& settings, const LocalTime& local);

}  // namespace plainwater::outlet
