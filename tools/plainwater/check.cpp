// `plainwater check`: is this settings file valid, and what does it lead to?
#include <fmt/format.h>

#include <cstdio>
#include <cstring>
#include <fstream>
#include <iostream>
#include <memory>

#include "common/quoted.h"
#include "messages/capture.h"
#include "messages/messages.h"
#include "plainwater/check_listen.h"
#include "plainwater/commands.h"
#include "plainwater/house.h"
#include "plainwater/machine_checks.h"
#include "plainwater/reload.h"
#include "settings/file_modes.h"
#include "settings/load.h"

namespace plainwater::tool {
namespace {

std::string counted(std::size_t n, const char* one) {
  return fmt::format("{} {}{}", n, one,
                     n == 1                             ? ""
                     : one[std::strlen(one) - 1] == 'h' ? "es"
                                                        : "s");
}

/// "3 benches, 5 sensors, 2 pumps: fine" or "my.yaml: 2 mistakes, 1 warning", after all that was
/// found.
void print_verdict(const Loaded& loaded, const std::string& path) {
  std::fflush(stdout);
  const std::size_t mistakes = loaded.problems.size(), warnings = loaded.warnings.size();
  const std::string warned = warnings == 0 ? "" : ", " + counted(warnings, "warning");
  if (mistakes > 0)
    fmt::print(stderr, "{}: {}{}\n", path, counted(mistakes, "mistake"), warned);
  else
    fmt::print(stderr, "{}, {}, {}: fine{}\n", counted(loaded.settings->benches.size(), "bench"),
               counted(loaded.settings->sensors.size(), "sensor"),
               counted(loaded.settings->pumps.size(), "pump"), warned);
}

int check(const std::string& path, bool print) {
  Loaded loaded = load_settings_file(path);
  add_machine_checks(loaded, path);
  add_file_modes(loaded, path);
  for (const std::string& warning : loaded.warnings) fmt::print(stderr, "warning: {}\n", warning);
  for (const Problem& problem : loaded.problems) fmt::print(stderr, "{}\n", message(problem, path));
  if (loaded.problems.empty()) {
    if (print) fmt::print("{}", print_merged(*loaded.settings));
    if (const std::string store = where_the_store_is(*loaded.settings); !store.empty())
      fmt::print(stderr,
                 "The store's path is relative: {} for a service that starts in this folder.\n",
                 store);
  }
  print_verdict(loaded, path);
  return loaded.problems.empty() ? kDone : kNo;
}

/// Checks captured messages and prints the fault of each.
int check_messages(const std::string& path, const std::string& settings_path) {
  std::shared_ptr<const Settings> settings;
  if (!settings_path.empty()) {
    Loaded loaded = load_settings_file(settings_path);
    for (const Problem& problem : loaded.problems)
      fmt::print(stderr, "{}\n", message(problem, settings_path));
    if (!loaded.settings || !loaded.problems.empty()) return kUsage;
    settings = std::make_shared<const Settings>(std::move(*loaded.settings));
  }
  std::ifstream file;
  if (path != "-") {
    file.open(path);
    if (!file) {
      fmt::print(stderr, "{}: cannot be read; name a file of messages, or - for what comes in\n",
                 path);
      return kUsage;
    }
  }
  const MessageCheck check(settings);
  std::size_t valid = 0, wrong = 0, unknown = 0;
  for (const Captured& captured : read_capture(path == "-" ? std::cin : file)) {
    const std::string where = fmt::format("{}:{}", path, captured.line);
    if (!captured.fault.empty()) {
      fmt::print("{}: {}; write `topic payload`, or JSON with topic and payload\n", where,
                 captured.fault);
      ++wrong;
      continue;
    }
    const Judged judged = check.judge(captured.topic, captured.payload);
    (judged.verdict == Verdict::valid   ? valid
     : judged.verdict == Verdict::wrong ? wrong
                                        : unknown) += 1;
    if (judged.verdict != Verdict::valid)
      fmt::print("{}: {}: {} {}; {}\n", where, quoted(captured.topic, 200),
                 judged.fault.field.empty() ? "it" : judged.fault.field, judged.fault.problem,
                 judged.fault.remedy);
  }
  fmt::print("{} valid, {} wrong, {} on topics that are not known\n", valid, wrong, unknown);
  return wrong == 0 ? kDone : kNo;
}

}  // namespace

void add_check(CLI::App& app, int& exit_code) {
  struct Options {
    std::string path, messages, settings, span;
    bool keys = false, sample = false, print = false, against_running = false;
  };
  CLI::App* command = app.add_subcommand("check", "Check a settings file, or captured messages");
  const auto options = std::make_shared<Options>();
  auto* what = command->add_option_group("what");
  what->add_option("FILE", options->path,
                   "Settings file; default: $PLAINWATER_SETTINGS, or plainwater.yaml here or in "
                   "/etc/plainwater");
  what->add_flag("--keys", options->keys, "Print every key with its meaning, range and default");
  what->add_flag("--sample", options->sample, "Print an annotated sample");
  what->add_option("--messages", options->messages,
                   "Check captured messages, a line each as mosquitto_sub -v or -F %j writes them; "
                   "- for standard input");
  what->require_option(0, 1);
  command->add_flag("--print", options->print,
                    "Also print the settings that came of the file, with every default filled in");
  command->add_option("--settings", options->settings,
                      "The same as FILE. With --messages: also the sensors and pumps of this file");
  command->add_flag("--against-running", options->against_running,
                    "Show what differs from the settings in force in the store, and what would "
                    "follow; changes nothing");
  add_check_listen(*command, options->span);
  command->callback([options, &exit_code] {
    if (options->keys)
      fmt::print("{}", print_keys());
    else if (options->sample)
      fmt::print("{}", print_sample());
    else if (!options->messages.empty())
      exit_code = check_messages(options->messages, options->settings);
    else {
      if (options->path.empty()) options->path = options->settings;
      want_settings(options->path);
      exit_code = check(options->path, options->print);
      if (exit_code != kDone) return;
      if (options->against_running)
        exit_code = print_difference(load_settings_file(options->path).settings);
      if (!options->span.empty()) exit_code = check_by_listening(options->path, options->span);
    }
  });
}

}  // namespace plainwater::tool
