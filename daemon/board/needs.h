// What needs a person, the most urgent first: each with what happened and what to do about it.
#pragma once

#include <string>
#include <vector>

#include "board/moment.h"
#include "outlet/notice.h"
#include "settings/settings.h"

namespace plainwater::board {

struct Need {
  outlet::Urgency urgency = outlet::Urgency::info;
  const char* kind = "";  ///< a stable word of config/openapi.json
  std::string bench;      ///< empty: the house
  std::string pump;       ///< empty: none
  std::string text;       ///< one or two sentences
};

std::vector<Need> needs(const Moment& moment, const Settings& settings);

}  // namespace plainwater::board
