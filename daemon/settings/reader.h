// Walks a YAML tree by the table of keys: each value into its field, each fault into the list.
#pragma once

#include <vector>

#include "settings/draft.h"
#include "settings/load.h"
#include "settings/yaml_tree.h"

namespace plainwater {

/// What can be judged value by value: unknown and repeated keys, types, ranges, the form of texts.
void read_draft(const YamlNode& root, Draft& draft, std::vector<Problem>& problems);

/// A found text for a message: in quotes, escaped, cut when long.
std::string quoted(std::string_view text);
/// A grower's key as part of a path: as it stands if it is easy to read there, else quoted.
std::string path_part(std::string_view key);

}  // namespace plainwater
