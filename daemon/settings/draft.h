// Settings while they are being read: unresolved names, and the line of every key given.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "settings/settings.h"

namespace plainwater {

struct BenchDraft {
  Bench bench;
  std::vector<std::string> sensors;  ///< names
  std::string contact;               ///< name; empty: none
};

struct Draft {
  Settings settings;  ///< its benches and pumps stay empty until resolved; waters and recipes are
                      ///< in file order
  std::vector<BenchDraft> benches;
  std::vector<Pump> pumps;
  std::map<std::string, int, std::less<>>
      lines;  ///< of each section, entry and key in the file: "benches.mist.group" -> 12

  /// Sections, entries and keys that have a mistake of their own, or that were probably meant by a
  /// mistyped key. What only follows from that is no second mistake.
  std::set<std::string, std::less<>> refused;

  /// True when the path, or what it is in, is refused.
  bool refused_at(std::string_view path) const;
  /// True also when something below it is: its values need not be those that were meant.
  bool doubtful(std::string_view path) const;

  /// The line of a key; if it was left out, that of its entry or section; 0 if that was left out
  /// too.
  int line(std::string_view path) const;
};

/// Converts settings in force back, for printing; without lines.
Draft draft_of(const Settings& settings);

}  // namespace plainwater
