// `plainwater check`: is this settings file right, and what does it come to?
#include <date/tz.h>
#include <fmt/format.h>

#include <cstdio>
#include <memory>
#include <optional>
#include <stdexcept>

#include "http/access.h"
#include "metrics/listener.h"
#include "plainwater/commands.h"
#include "settings/file_modes.h"
#include "settings/load.h"

namespace plainwater::tool {
namespace {

/// Only the machine knows its time zones. Decisions do not need one, but dates would be shown in another.
std::optional<Problem> fault_of_zone(const Loaded& loaded) {
  const std::string& name = loaded.settings->site.time_zone;
  try {
    date::locate_zone(name);
    return std::nullopt;
  } catch (const std::runtime_error&) {
    const auto line = loaded.lines.find("site.time_zone");
    return Problem{line == loaded.lines.end() ? 0 : line->second, "site.time_zone", "this machine knows no time zone " + name,
                   "see the names under /usr/share/zoneinfo (package tzdata)"};
  }
}

int check(const std::string& path) {
  Loaded loaded = load_settings_file(path);
  if (loaded.settings)
    if (const auto fault = fault_of_zone(loaded)) loaded.problems.push_back(*fault);
  add_file_modes(loaded, path);
  if (loaded.settings && !loaded.settings->board.token_file.empty())
    if (const auto token = http::read_token(loaded.settings->board.token_file); !token) {
      const auto line = loaded.lines.find("board.token_file");
      loaded.problems.push_back({line == loaded.lines.end() ? 0 : line->second, "board.token_file", token.error().where + ": " + token.error().what, token.error().remedy});
    }
  if (loaded.settings && !loaded.settings->metrics.password_file.empty())
    if (const auto password = metrics::read_password(loaded.settings->metrics.password_file); !password) {
      const auto line = loaded.lines.find("metrics.password_file");
      loaded.problems.push_back({line == loaded.lines.end() ? 0 : line->second, "metrics.password_file", password.error().where + ": " + password.error().what, password.error().remedy});
    }
  for (const std::string& warning : loaded.warnings) fmt::print(stderr, "warning: {}\n", warning);
  for (const Problem& problem : loaded.problems) fmt::print(stderr, "{}\n", message(problem, path));
  if (!loaded.problems.empty()) return kNo;
  fmt::print("{}", print_merged(*loaded.settings));
  return kDone;
}

}  // namespace

void add_check(CLI::App& app, int& exit_code) {
  struct Options {
    std::string path;
    bool keys = false, sample = false;
  };
  CLI::App* command = app.add_subcommand("check", "Check a settings file and print it with its defaults");
  const auto options = std::make_shared<Options>();
  auto* what = command->add_option_group("what");
  what->add_option("FILE", options->path, "Settings file");
  what->add_flag("--keys", options->keys, "Print every key with its meaning, range and default");
  what->add_flag("--sample", options->sample, "Print an annotated sample");
  what->require_option(1);
  command->callback([options, &exit_code] {
    if (options->keys)
      fmt::print("{}", print_keys());
    else if (options->sample)
      fmt::print("{}", print_sample());
    else
      exit_code = check(options->path);
  });
}

}  // namespace plainwater::tool
