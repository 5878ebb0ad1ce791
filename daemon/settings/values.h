// The values of settings in force, one by one, in the order of the reference: for printing them and
// for telling two of them apart.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "settings/settings.h"

namespace plainwater {

struct Value {
  std::string_view section;  ///< "benches"
  std::string entry;         ///< "mist"; empty in sections without entries
  std::string_view key;      ///< "group"
  std::string yaml;          ///< "intermediate"; empty: not set
};

/// Every key of every entry, defaults filled in; the lines of a section and of an entry stand
/// together.
std::vector<Value> values_of(const Settings& settings);

}  // namespace plainwater
