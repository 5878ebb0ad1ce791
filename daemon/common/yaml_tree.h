// A YAML text as a plain tree with the line of everything in it.
//
// yaml-cpp's own nodes take the last of two equal keys, read `010` as eight and share nodes between
// aliases. So only its parser is used; scalars stay text here and the table of keys decides what
// they may be.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"

namespace plainwater {

struct YamlEntry;

struct YamlNode {
  enum class Kind { nothing, scalar, list, map };
  Kind kind = Kind::nothing;
  int line = 0;                    ///< first line is 1
  bool quoted = false;             ///< a scalar in quotes: text, whatever it looks like
  std::string text;                ///< of a scalar
  std::vector<YamlNode> items;     ///< of a list
  std::vector<YamlEntry> entries;  ///< of a map in file order, keys scalars; duplicates are kept
};

struct YamlEntry {
  YamlNode key, value;
};

struct YamlFault {
  int line = 0;
  std::string what, remedy;
};

/// The one document in `text`; an empty text is `nothing`. Faults: syntax, aliases, a map as a key,
/// a second document, nesting deeper than anything of ours needs. On a fault `root` is `nothing`.
struct YamlTree {
  YamlNode root;
  std::vector<YamlFault> faults;  ///< at most one
};
YamlTree parse_yaml(std::string_view text);

}  // namespace plainwater
