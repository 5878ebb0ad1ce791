// Who else on this machine may read our secrets, or change what the service acts upon.
#pragma once

#include <string>

#include "settings/load.h"

namespace plainwater {

/// Looks at the settings file, the files that it names, the store and their folders, and adds what
/// is wrong to `loaded`. A secret (the broker's password, our key) must be closed to everybody but
/// its owner and group, and its group may not write it; nothing else may be changed by everybody:
/// these are problems. A store that everybody may read is a warning. Files that do not exist are no
/// matter of modes.
void add_file_modes(Loaded& loaded, const std::string& settings_path);

}  // namespace plainwater
