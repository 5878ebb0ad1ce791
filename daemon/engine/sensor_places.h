// Which sensor stands where, by the settings.
#pragma once

#include <string>

#include "settings/settings.h"

namespace plainwater::engine {

bool on_bench(const Bench& bench, std::size_t sensor);
/// The bench that a sensor's decisions belong to; empty for a reference.
std::string bench_of(const Settings& settings, std::size_t sensor);
/// Whether the sensor measures air, on a bench or as a reference. A contact only tells a place, and
/// may be silent for months.
bool tells_air(const Settings& settings, std::size_t sensor);

}  // namespace plainwater::engine
