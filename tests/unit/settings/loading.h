// A small valid settings file, and helpers for the problems of a bad one.
#pragma once

#include <string>
#include <string_view>

#include "settings/load.h"

namespace plainwater::test {

/// Seven lines: text appended by `house` begins at line 8.
inline const std::string kHouse =
    "# a house\n"
    "site:\n"
    "  latitude: 52.2\n"
    "  longitude: -2.1\n"
    "benches:\n"
    "  east:\n"
    "    sensors: [east-air]\n";

inline std::string house(std::string_view more) { return kHouse + std::string(more); }

inline Loaded load(std::string_view text) { return load_settings_text(text, "house.yaml"); }

/// All problems, one per line, as people see them.
inline std::string problems(std::string_view text) {
  std::string all;
  for (const Problem& problem : load(text).problems) all += message(problem, "house.yaml") + "\n";
  return all;
}

}  // namespace plainwater::test
