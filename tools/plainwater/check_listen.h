// `plainwater check FILE --listen 1min`: what arrives for each sensor, and what it becomes.
#pragma once

#include <memory>
#include <string>

#include "settings/settings.h"

namespace plainwater::tool {

/// Listens at the settings' broker for `span` (as "1min") and prints each sensor. The exit code: 1
/// when every message of some sensor was refused, 3 when the broker cannot be reached.
int check_by_listening(const std::shared_ptr<const Settings>& settings, const std::string& span);

}  // namespace plainwater::tool
