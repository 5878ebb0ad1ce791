// `plainwater check FILE --listen 1min`: what arrives for each sensor, and what it becomes.
#pragma once

#include <CLI/CLI.hpp>
#include <string>

namespace plainwater::tool {

void add_check_listen(CLI::App& command, std::string& span);
/// Listens at the broker of the settings file for `span` and prints each sensor. The exit code: 1
/// when the settings have mistakes or every message of some sensor was refused, 3 when the broker
/// cannot be reached.
int check_by_listening(const std::string& path, const std::string& span);

}  // namespace plainwater::tool
