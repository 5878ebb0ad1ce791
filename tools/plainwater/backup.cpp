// plainwater backup: a whole copy of a store, while the service goes on.
#include <cstdio>
#include <memory>

#include "outlet/local_time.h"
#include "plainwater/commands.h"
#include "plainwater/progress.h"
#include "settings/load.h"
#include "store/journal_reads.h"
#include "store/store.h"

namespace plainwater::tool {
namespace {

int backup(const std::string& file, const std::string& to) {
  const auto loaded = load_settings_file(file);
  for (const auto& problem : loaded.problems)
    std::fprintf(stderr, "%s\n", message(problem, file).c_str());
  if (!loaded.settings) return kNo;
  const Settings& settings = *loaded.settings;
  const auto local = outlet::LocalTime::of(settings.site.time_zone);
  if (!local) return refuse(local.error());
  auto store = store::Store::open_to_read(settings.store.path);
  if (!store) return refuse(store.error());
  const auto last = store::JournalReads(**store).last_now();
  if (!last) return refuse(last.error());
  Progress progress("copying");
  const auto done = (*store)->backup_to(to, [&](int pages, int all) {
    progress.show(all > 0 ? static_cast<double>(pages) / all : 1);
  });
  progress.clear();
  if (!done) return refuse(done.error());
  std::printf("%s is backed up in %s%s.\n", settings.store.path.c_str(), to.c_str(),
              *last ? (", up to " + local->date_time(**last)).c_str() : "; nothing is in it yet");
  return kDone;
}

}  // namespace

void add_backup(CLI::App& app, int& exit_code) {
  struct Options {
    std::string settings, to;
  };
  auto options = std::make_shared<Options>();
  auto* command = app.add_subcommand("backup", "Copy the store; the service may run meanwhile");
  command->add_option("--settings", options->settings, "Settings file of the service")
      ->required()
      ->type_name("FILE");
  command->add_option("--to", options->to, "The copy; a file of this name must not exist")
      ->required()
      ->type_name("FILE");
  command->callback([options, &exit_code] { exit_code = backup(options->settings, options->to); });
}

}  // namespace plainwater::tool
