// What to do about a key that is not in the table.
#pragma once

#include <string>
#include <string_view>

#include "common/yaml_tree.h"
#include "settings/keys.h"

namespace plainwater {

struct UnknownKey {
  std::string remedy;   ///< "did you mean dull_day?", "it belongs into site"
  std::string instead;  ///< the known key that it stands for, in the same place; may be empty
};
/// `section` is null where a section's own name is not known.
UnknownKey explain_unknown_key(std::string_view typed, const Section* section);

/// What to do where keys were expected below and something else stands: `otherwise`, unless what
/// stands there tells more.
std::string remedy_of_form(const YamlNode& value, const char* otherwise);

/// What to do about a text that is not YAML, from the lines up to the one where the parser gave up.
/// `in_brackets`: it gave up within [ or {.
struct BrokenLine {
  int line = 0;  ///< 0: no idea
  std::string what, remedy;
};
BrokenLine explain_broken_yaml(std::string_view text, int fault_line, bool in_brackets);

}  // namespace plainwater
