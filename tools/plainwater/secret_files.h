// Files that hold the hash of a person's secret.
#pragma once

#include <string>

#include "common/result.h"
#include "settings/secret_hash.h"

namespace plainwater::tool {

/// Writes it for its owner alone, as a whole. `replace`: over the file that is there, which keeps
/// its owner and group. Error: it is there already, or cannot be written.
Status write_secret_file(const std::string& path, const SecretHash& hash, bool replace);

}  // namespace plainwater::tool
