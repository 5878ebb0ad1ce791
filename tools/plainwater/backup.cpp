// plainwater backup: makes a complete copy of a store while the service runs.
#include <cstdio>
#include <memory>

#include "outlet/local_time.h"
#include "plainwater/commands.h"
#include "plainwater/house.h"
#include "plainwater/progress.h"
#include "plainwater/said.h"
#include "store/journal_reads.h"
#include "store/store.h"

namespace plainwater::tool {
namespace {

using words::say;

int backup(const HouseOptions& house, const std::string& to) {
  const auto loaded = house_of(house);
  if (!loaded) return kNo;
  const Settings& settings = *loaded;
  const auto local = outlet::LocalTime::of(settings.site.time_zone);
  if (!local) return refuse(local.error());
  auto store = store::Store::open_to_read(settings.store.path);
  if (!store) return refuse(store.error());
  const auto last = store::JournalReads(**store).last_now();
  if (!last) return refuse(last.error());
  Progress progress(settings.board.reader()(say("progress.copying")));
  const auto done = (*store)->backup_to(to, [&](int pages, int all) {
    progress.show(all > 0 ? static_cast<double>(pages) / all : 1);
  });
  progress.clear();
  if (!done) return refuse(done.error());
  print_line(
      settings.board.reader(),
      say("backup.done",
          {{"store", words::name(settings.store.path)},
           {"file", words::name(to)},
           {"until", *last ? say("backup.up-to", {{"when", words::name(local->date_time(**last))}})
                           : say("backup.empty")}}));
  return kDone;
}

}  // namespace

void add_backup(CLI::App& app, int& exit_code) {
  struct Options {
    HouseOptions house;
    std::string to;
  };
  auto options = std::make_shared<Options>();
  auto* command = app.add_subcommand("backup", "Copy the store; the service may run meanwhile");
  add_house(*command, options->house);
  command->add_option("--to", options->to, "The copy; a file of this name must not exist")
      ->required()
      ->type_name("FILE");
  command->callback([options, &exit_code] {
    want_house(options->house);
    exit_code = backup(options->house, options->to);
  });
}

}  // namespace plainwater::tool
