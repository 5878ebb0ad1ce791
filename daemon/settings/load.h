// Turns the text of a settings file into checked `Settings`, or lists every problem in it at once.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "settings/settings.h"

namespace plainwater {

/// One thing wrong with the file. Never repeats a value of `broker.*`, since people paste passwords
/// into wrong places.
struct Problem {
  int line = 0;        ///< counts from 1; 0: the file as a whole
  std::string key;     ///< "benches.mist.group"; empty when no single key is at fault
  std::string what;    ///< what was expected and what was found
  std::string remedy;  ///< what to do; may be empty
};

/// "greenhouse.yaml:12: benches.mist.group: expected …, found …; do …"
std::string message(const Problem& problem, std::string_view file_name);

struct Loaded {
  std::shared_ptr<const Settings> settings;  ///< null when there are problems
  std::vector<Problem> problems;             ///< sorted by line
  std::vector<std::string>
      warnings;  ///< complete sentences with file and line; the settings are usable all the same
  std::map<std::string, int, std::less<>> lines;  ///< line of each key given, "site.time_zone" ->
                                                  ///< 5, for checks that only a caller can make
};

/// Larger files are refused: settings of a thousand benches need a fifth of it.
inline constexpr std::size_t kLargestSettingsFile = 1024 * 1024;

/// Parses, checks and completes; never throws, whatever the text. `file_name` is for warnings only.
Loaded load_settings_text(std::string_view text, std::string_view file_name);
/// The same for a file; an unreadable one is a problem with line 0.
Loaded load_settings_file(const std::string& path);

/// The settings in force as a settings file, with defaults filled in. Loading it again gives equal
/// settings. It contains names of password files and variables, never a password.
std::string print_merged(const Settings& settings);
/// The key reference: every key with type, unit, range, default and meaning.
std::string print_keys();
/// An annotated settings file that loads without problems; stored as `config/sample.yaml`.
std::string print_sample();

}  // namespace plainwater
