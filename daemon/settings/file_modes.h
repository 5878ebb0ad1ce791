// Checks who else on this machine can read our secrets, or change the files that the service uses.
#pragma once

#include <string>

#include "settings/load.h"

namespace plainwater {

/// Checks the settings file, the files that it names, the store and their folders, and adds
/// findings to `loaded`. A secret (the broker's password, our key) must be closed to all but its
/// owner and group, and the group must not be able to write it; nothing else may be writable by
/// everybody: these are problems. A store that everybody may read is a warning. Files that do not
/// exist are ignored here.
void add_file_modes(Loaded& loaded, const std::string& settings_path);

}  // namespace plainwater
