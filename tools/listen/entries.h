// From sources to entries of the settings: names, families of topics that share a shape, benches.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "listen/recognise.h"

namespace plainwater::listen {

/// Topics that differ in one level alone become one entry from this many on.
inline constexpr std::size_t kFamily = 3;
/// More entries are not proposed: nobody would read them.
inline constexpr std::size_t kMostEntries = 300;

struct Entry {
  SensorMapping mapping{};               ///< with its name; a family's topic has one `+`
  std::vector<const Source*> sources{};  ///< more than one for a family
  std::vector<std::string> sensors{};    ///< the name of each
  bool doubtful = false;                 ///< written as a comment only
};

/// Entries in order of their topics; at most `kMostEntries`, rather the certain ones. The sources
/// must outlive them. `taken`: names that others have.
std::vector<Entry> entries_of(const std::vector<Source>& sources, std::set<std::string> taken = {});

struct ProposedBench {
  std::string name;
  std::vector<std::string> sensors;
};
struct House {
  std::vector<ProposedBench> benches{};  ///< at least one when any sensor tells the air
  std::string outdoors{};                ///< a sensor that seems to stand in the open air
  std::vector<std::string> contacts{};   ///< used by no bench
  bool one_bench = false;                ///< nothing told which sensors stand together
};
/// Groups sensors by the part of their topics that seems to name a place.
House house_of(const std::vector<Entry>& entries);

}  // namespace plainwater::listen
