// What the command line does at the broker: reads what is retained there, and asks the service.
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

/// The reply's JSON. An error when the broker or the service gives no answer within `limit`.
Result<std::string> ask(const Settings& settings, const feeding::Request& request, Span limit);

/// 32 random hexadecimal digits.
std::string fresh_id();

}  // namespace plainwater::tool
