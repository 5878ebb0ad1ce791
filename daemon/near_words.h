// Suggestions for a mistyped command or option.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

namespace plainwater {

/// A line for each word of the command line that is close to, but not, a command or an option of
/// the command; empty when there is none.
std::string near_words(const CLI::App& app, const std::vector<std::string>& words);

}  // namespace plainwater
