// The index of a bench by a name from the settings themselves, such as those of a pump's benches:
// it must exist, since that was checked when they were read.
#pragma once

#include "common/check.h"
#include "settings/settings.h"

namespace plainwater {

inline std::size_t known_bench(const Settings& settings, std::string_view name) {
  const auto at = settings.bench(name);
  check(at.has_value());
  return *at;
}

}  // namespace plainwater
