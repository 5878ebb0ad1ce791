// What the settings name on this machine: files, folders, the time zone.
#pragma once

#include <string>
#include <vector>

#include "settings/load.h"

namespace plainwater::tool {

/// Adds what is missing, empty or unreadable to the problems of `loaded`, and what need not be
/// wrong to its warnings: a file that only the service's user may read, a site far from its time
/// zone. `settings` must have been loaded. Relative paths count from the working folder, here as in
/// the service.
void add_machine_checks(Loaded& loaded, const std::string& settings_path);

/// Where a relative store.path leads to; empty for an absolute one.
std::string where_the_store_is(const Settings& settings);

}  // namespace plainwater::tool
