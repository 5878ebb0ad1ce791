// Reads a YAML tree by the table of keys: each value into its field, each fault into the list.
#pragma once

#include <vector>

#include "common/yaml_tree.h"
#include "settings/draft.h"
#include "settings/load.h"

namespace plainwater {

/// Checks single values: unknown and repeated keys, types, ranges, the form of texts.
void read_draft(const YamlNode& root, Draft& draft, std::vector<Problem>& problems);

/// Text from the file for a message: quoted, escaped, shortened if long.
std::string quoted(std::string_view text);
/// A grower's key as part of a path: unquoted if it is easy to read, otherwise quoted.
std::string path_part(std::string_view key);

}  // namespace plainwater
