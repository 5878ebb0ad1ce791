#include "plainwater/house.h"

#include <cstdio>

#include "replay/fold.h"
#include "settings/find.h"
#include "settings/language.h"
#include "settings/load.h"
#include "store/journal_reads.h"
#include "store/store.h"

namespace plainwater::tool {
namespace {

std::shared_ptr<const Settings> with_store(const std::shared_ptr<const Settings>& settings,
                                           const std::string& path) {
  if (!settings || path.empty()) return settings;
  auto changed = std::make_shared<Settings>(*settings);
  changed->store.path = path;
  return changed;
}

std::shared_ptr<const Settings> from_file(const std::string& file) {
  const auto loaded = load_settings_file(file);
  for (const auto& problem : loaded.problems)
    std::fprintf(stderr, "%s\n", message(problem, file).c_str());
  return loaded.settings;
}

}  // namespace

Result<std::shared_ptr<const Settings>> in_force(const std::string& record) {
  auto store = store::Store::open_to_read(record);
  if (!store) return store.error();
  const auto found = store::JournalReads(**store).settings_in_force();
  if (!found) return found.error();
  const auto kept = *found ? replay::read_settings_record((*found)->body) : std::nullopt;
  Loaded loaded = kept ? load_settings_text(kept->text, record) : Loaded{};
  if (!loaded.settings)
    return Error{"no settings that can be read are in it", record,
                 "name the settings file with --settings"};
  // A translation that is gone leaves English.
  Loaded translated = loaded;
  add_language(translated);
  return translated.settings ? translated.settings : loaded.settings;
}

void add_house(CLI::App& command, HouseOptions& options) {
  command
      .add_option("--settings", options.settings,
                  "Settings file of the service; default: $PLAINWATER_SETTINGS, or plainwater.yaml "
                  "here or in /etc/plainwater")
      ->type_name("FILE");
  command
      .add_option("--store", options.store,
                  "Store file, in place of the settings' own; without --settings its own settings "
                  "count")
      ->type_name("FILE");
}

void want_house(HouseOptions& options) {
  if (options.store.empty()) want_settings(options.settings);
}

void want_settings(std::string& file) {
  file = settings_file(file);
  if (file.empty()) throw CLI::ValidationError(kWhereSettingsAre);
}

std::shared_ptr<const Settings> house_of(const HouseOptions& options, std::string record) {
  if (!options.settings.empty()) return with_store(from_file(options.settings), options.store);
  const auto found = in_force(record.empty() ? options.store : record);
  if (found) return with_store(*found, options.store);
  std::fprintf(stderr, "%s\n", found.error().message().c_str());
  return nullptr;
}

std::string store_of(const HouseOptions& options) {
  if (!options.store.empty()) return options.store;
  const auto settings = from_file(options.settings);
  return settings ? settings->store.path : std::string();
}

words::Reader reader_of(const HouseOptions& options) {
  if (!options.settings.empty()) {
    const auto loaded = load_settings_file(options.settings);
    return loaded.settings ? loaded.settings->board.reader() : words::Reader();
  }
  const auto found = in_force(options.store);
  return found ? (*found)->board.reader() : words::Reader();
}

}  // namespace plainwater::tool
