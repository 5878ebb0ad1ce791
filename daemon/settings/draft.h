// Settings while they are being read: names not yet resolved, and the line of every key given.
#pragma once

#include <map>
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
      lines;  ///< of each section, entry and key given: "benches.mist.group" -> 12

  /// The line of a key, of the entry or section around it when it was left out, 0 when that was
  /// too.
  int line(std::string_view path) const;
};

/// Back from settings in force, for printing; without lines.
Draft draft_of(const Settings& settings);

}  // namespace plainwater
