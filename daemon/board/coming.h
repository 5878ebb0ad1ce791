// What comes next: holds that end or are decided within a week, announced holds, exemptions that
// end, sensors to look at.
#pragma once

#include <string>
#include <vector>

#include "board/needs.h"
#include "settings/settings.h"
#include "status/status.h"

namespace plainwater::board {

struct Coming {
  Instant time{kNever};  ///< when, as far as it is known
  std::string bench;     ///< empty: the house
  const char* kind;      ///< "hold-ends" …, as in config/openapi.json
  words::Sentence said;
  std::vector<std::string> asks{};  ///< JSON; see board/asks.h
};

/// The soonest first, then what has no time. A sensor that is among what needs a person now is left
/// out: `needs`.
std::vector<Coming> coming(const status::Status& status, const std::vector<Need>& needs,
                           const Settings& settings);

}  // namespace plainwater::board
