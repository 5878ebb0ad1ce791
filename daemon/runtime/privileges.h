// What the process may do: as little as its work needs, and nothing that could be gained later.
#pragma once

#include <string>

#include "common/result.h"

namespace plainwater::runtime {

/// Becomes `user` with its groups (only root can; empty: stays who it is), gives up every
/// capability and the bounding set, forbids gaining privileges by any program it could start,
/// forbids core files, which would hold the broker's password, and makes files that others cannot
/// read. To be called before the settings are read and files are made.
Status give_up_privileges(const std::string& user);

/// True while the process runs as root: the service needs nothing of root's.
bool runs_as_root();

}  // namespace plainwater::runtime
