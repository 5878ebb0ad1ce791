// The command line's client at the broker: reads retained messages and sends requests to the
// service.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "common/instant.h"
#include "common/result.h"
#include "feeding/request.h"
#include "settings/settings.h"

namespace plainwater::tool {

/// Retained messages by topic. An error when the broker cannot be reached within `limit`.
Result<std::map<std::string, std::string>> read_retained(const Settings& settings,
                                                         std::vector<std::string> filters,
                                                         Span limit);

/// The reply as JSON. An error when the broker or the service does not answer within `limit`.
Result<std::string> ask(const Settings& settings, const feeding::Request& request, Span limit);

/// Who asks when nobody is named: the user of this machine.
std::string default_who();
/// 32 random hexadecimal digits.
std::string fresh_id();

}  // namespace plainwater::tool
