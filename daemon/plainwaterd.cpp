// plainwaterd: the service. Exit code 0 after an orderly stop, 1 when it cannot run, 2 for a wrong
// command line.
#include <spdlog/spdlog.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <csignal>
#include <cstdio>
#include <memory>
#include <optional>

#include "manual_page.h"
#include "near_words.h"
#include "runtime/log_sink.h"
#include "runtime/privileges.h"
#include "runtime/service.h"
#include "settings/file_modes.h"
#include "settings/find.h"
#include "settings/load.h"
#include "version.h"

namespace {

struct Asked {
  std::string settings, user, level = "info";
  plainwater::runtime::ServiceOptions options;
};

std::string manual_of(const CLI::App& app) {
  using plainwater::roff, plainwater::roff_entry;
  return plainwater::manual_page(
      app,
      {.name = "plainwaterd",
       .section = 8,
       .command = "plainwaterd",
       .more = {{"EXIT STATUS", roff_entry("\\fB0\\fR", "Stopped in an orderly way.") +
                                    roff_entry("\\fB1\\fR", "It cannot run; the log says why.") +
                                    roff_entry("\\fB2\\fR", "Wrong arguments.")},
                {"ENVIRONMENT", roff_entry("\\fBPLAINWATER_SETTINGS\\fR",
                                           "The settings file, where --settings names none.")},
                {"FILES", roff_entry("\\fI/etc/plainwater/plainwater.yaml\\fR",
                                     "Settings, where no other file is named.")}},
       .see_also = {"plainwater(1)", "plainwater.yaml(5)"}});
}

/// The exit code, where there is nothing more to do.
std::optional<int> read_arguments(int argc, char** argv, Asked& asked) {
  CLI::App app{"plainwaterd decides for every bench whether it may be fed, and gives the orders",
               "plainwaterd"};
  app.add_option("--settings", asked.settings,
                 "Settings file (YAML); default: $PLAINWATER_SETTINGS, or plainwater.yaml here or "
                 "in /etc/plainwater")
      ->type_name("FILE");
  app.add_flag("--ledger", asked.options.print_ledger, "Print one line a decision");
  app.add_flag("--stand-in-pumps", asked.options.core.stand_in_pumps,
               "No pump is real, as in a trial with pump-stand-in: they may be armed while the "
               "time comes from the readings");
  // An unset variable in a start script must not leave the service running as root.
  const auto named = [](const std::string& name) {
    return name.empty() ? std::string("expected the name of a user, found none") : std::string();
  };
  app.add_option("--user", asked.user,
                 "User to become when root starts the service; it needs nothing of root's")
      ->type_name("NAME")
      ->check(named);
  app.add_option("--log-level", asked.level, "debug, info, warn or error")
      ->check(CLI::IsMember({"debug", "info", "warn", "error"}));
  app.set_version_flag("--version", std::string("plainwaterd ") + plainwater::kVersion);
  bool manual = false;
  app.add_flag("--manual", manual, "Print the manual page in roff")->group("");  // hidden
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    if (app.exit(e) == 0) return 0;
    std::fprintf(stderr, "%s", plainwater::near_words(app, {argv + 1, argv + argc}).c_str());
    return 2;
  }

  if (manual) {
    std::fputs(manual_of(app).c_str(), stdout);
    return 0;
  }
  asked.settings = plainwater::settings_file(asked.settings);
  if (!asked.settings.empty()) return std::nullopt;
  std::fprintf(stderr, "%s\n", plainwater::kWhereSettingsAre);
  return 2;
}

}  // namespace

int main(int argc, char** argv) {
  Asked asked;
  if (const auto code = read_arguments(argc, argv, asked)) return *code;

  // The service must not stop when nobody reads its output, through a full pipe or a closed one.
  std::signal(SIGPIPE, SIG_IGN);
  // Until it runs: the settings are being read in any case.
  std::signal(SIGHUP, SIG_IGN);
  const plainwater::runtime::LogTo log(STDERR_FILENO);
  spdlog::set_level(spdlog::level::from_str(asked.level));
  spdlog::info("settings: {}", asked.settings);
  if (const auto done = plainwater::runtime::give_up_privileges(asked.user); !done) {
    spdlog::critical("{}", done.error().message());
    return 1;
  }
  if (plainwater::runtime::runs_as_root())
    spdlog::info(
        "running as root, though without its capabilities; better give the service a user: --user");
  auto loaded = plainwater::load_settings_file(asked.settings);
  plainwater::add_file_modes(loaded, asked.settings);
  for (const auto& problem : loaded.problems)
    std::fprintf(stderr, "%s\n", plainwater::message(problem, asked.settings).c_str());
  for (const auto& warning : loaded.warnings) spdlog::warn("{}", warning);
  if (!loaded.problems.empty()) return 1;

  asked.options.settings_file = asked.settings;
  auto service = plainwater::runtime::Service::open(loaded.settings, asked.options);
  if (!service) {
    spdlog::critical("{}", service.error().message());
    return 1;
  }
  return (*service)->run() ? 0 : 1;
}
