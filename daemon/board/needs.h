// What needs a person, the most urgent first: each with what happened and what to do about it.
#pragma once

#include <string>
#include <vector>

#include "notices/matter.h"
#include "settings/settings.h"
#include "status/status.h"

namespace plainwater::board {

struct Need {
  notices::Matter matter;       ///< as people are told of it
  std::string acknowledged_by;  ///< empty: nobody; then it is told again while it lasts
};

std::vector<Need> needs(const status::Status& status, const Settings& settings);

}  // namespace plainwater::board
