// What a store remembers of the clock.
#pragma once

#include <optional>

#include "clock/engine_clock.h"
#include "common/clock_trust.h"
#include "common/result.h"
#include "store/store.h"

namespace plainwater::service {

/// The engine time of the last input; none before the first, or when it is no plausible time.
/// `trust`: how far the clock was believed then.
Result<std::optional<clock::EngineClock::Memory>> remembered_time(store::Store& store,
                                                                  ClockTrust trust);

}  // namespace plainwater::service
