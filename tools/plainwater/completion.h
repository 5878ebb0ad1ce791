// What a shell may offer for the word that is being typed, by the commands' own options.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

namespace plainwater::tool {

/// The names that a house has; empty where its settings cannot be read.
struct HouseNames {
  std::vector<std::string> benches, pumps, sensors, recipes, waters, people;
};

struct Completion {
  std::string word;
  std::string said{};  ///< what it is; may be empty
};
struct Completions {
  bool file = false;  ///< the shell's own offer of files
  std::vector<Completion> words;
};

/// `typed`: what stands behind the program's name, the last one being the word at the cursor, which
/// may be empty. Only what begins with it is offered.
Completions completions(const CLI::App& app, const std::vector<std::string>& typed,
                        const HouseNames& names);

/// What --settings or --store in `typed` names; empty: nothing.
std::string option_typed(const std::vector<std::string>& typed, const std::string& option);

}  // namespace plainwater::tool
