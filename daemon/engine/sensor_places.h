// Which sensor stands where, by the settings.
#pragma once

#include <string>

#include "settings/settings.h"

namespace plainwater::engine {

bool on_bench(const Bench& bench, std::size_t sensor);
/// The bench that a sensor's decisions belong to; empty for a reference.
std::string bench_of(const Settings& settings, std::size_t sensor);
/// Whether it stands on a bench or is a reference; a contact tells a place alone, and may have
/// nothing to tell for months.
bool tells_air(const Settings& settings, std::size_t sensor);

}  // namespace plainwater::engine
