// What differs between two sets of settings, as a person would tell it.
#pragma once

#include <string>
#include <vector>

#include "settings/settings.h"

namespace plainwater {

/// One key with another value, or a whole entry (a bench, a sensor …) that is new or gone.
struct Change {
  enum class Kind { value, added, removed };
  Kind kind = Kind::value;
  std::string key;     ///< "benches.mist.group"; of an entry "benches.porch"
  std::string before;  ///< as YAML; empty: not set. Of an entry: its former names
  std::string after;   ///< the same
};

/// What is new, what is gone, then the keys with another value. Equal settings differ in nothing,
/// whatever their files look like.
std::vector<Change> difference(const Settings& before, const Settings& after);

/// "benches.mist.group: cool, was intermediate", "benches.porch: new", "benches.courtyard: gone".
std::string message(const Change& change);

/// The keys that cannot change while a service runs: which house, broker and store it is of, and
/// the addresses at which it listens. The first that differs; empty: none does.
std::string needs_restart(const Settings& before, const Settings& after);

}  // namespace plainwater
