// The command line's client at the broker: reads retained messages and sends requests to the
// service.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "asking/patience.h"
#include "common/instant.h"
#include "common/result.h"
#include "feeding/request.h"
#include "settings/settings.h"

namespace plainwater::tool {

/// Retained messages by topic. An error when the broker cannot be reached within `limit`.
Result<std::map<std::string, std::string>> read_retained(const Settings& settings,
                                                         std::vector<std::string> filters,
                                                         Span limit);

/// What became of a request.
struct Asked {
  std::string reply{};   ///< JSON; empty: nobody answered in time
  Instant good_until{};  ///< the broker drops it then
  bool kept = false;     ///< the broker said that it has it
};

/// Sends it and waits for the answer for as long as it is good, at most `limit`. An error when the
/// broker cannot be reached.
Result<Asked> ask(const Settings& settings, feeding::Request request,
                  const asking::Patience& patience, Span limit);

/// Who asks when nobody is named: the user of this machine.
std::string default_who();
/// 32 random hexadecimal digits.
std::string fresh_id();

}  // namespace plainwater::tool
