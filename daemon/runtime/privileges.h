// Restricts what the process may do to what its work needs.
#pragma once

#include <string>

#include "common/result.h"

namespace plainwater::runtime {

/// Becomes `user` with its groups (only root can; empty: no change). Gives up every capability and
/// the bounding set, forbids gaining privileges through any program it starts, forbids core files
/// (they would hold the broker's password), and makes new files unreadable for others. Call it
/// before settings are read or files made.
Status give_up_privileges(const std::string& user);

/// True while the process runs as root, which the service never needs.
bool runs_as_root();

}  // namespace plainwater::runtime
