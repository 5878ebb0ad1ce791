// What a mistyped command or option may have been meant for.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

namespace plainwater::tool {

/// A line for each word of the command line that is no command, or no option of the command, and
/// near to one; empty when there is none.
std::string near_words(const CLI::App& app, const std::vector<std::string>& words);

}  // namespace plainwater::tool
