// Which house a command is about: told by its settings file, or by its store, which holds the
// settings in force.
#pragma once

#include <CLI/CLI.hpp>
#include <memory>
#include <string>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater::tool {

struct HouseOptions {
  std::string settings, store;
};
/// --settings and --store; the store that is named goes before the settings' own.
void add_house(CLI::App& command, HouseOptions& options);
/// Where neither is given, finds the settings at their usual places; throws what the command line
/// reports as wrong usage when they are not there.
void want_house(HouseOptions& options);
/// The same for a command that takes settings alone.
void want_settings(std::string& file);

/// The settings, with the store's path in them. Null, and told on standard error: they cannot be
/// read. `record`: the store, or a backup of it, that has them where no settings file is named;
/// empty: the store itself.
std::shared_ptr<const Settings> house_of(const HouseOptions& options, std::string record = {});
/// The settings that the service wrote into its store when it began with them.
Result<std::shared_ptr<const Settings>> in_force(const std::string& record);
/// The store's path alone: it may hold no settings, or be of an older version. Empty, and told:
/// the settings cannot be read.
std::string store_of(const HouseOptions& options);
/// How those read who look after the house: as its settings say, in English where there are none.
words::Reader reader_of(const HouseOptions& options);

}  // namespace plainwater::tool
