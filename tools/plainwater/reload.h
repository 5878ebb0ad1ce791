// How a settings file differs from what the running service goes by, and what would follow.
#pragma once

#include <memory>
#include <string>

#include "settings/settings.h"

namespace plainwater::tool {

/// Prints each key that differs from the settings in force in `wanted`'s store, and the decisions
/// that a change to `wanted` would bring; writes nothing. Returns the exit code: kNo, and told,
/// when the store cannot be read, or the change needs a restart.
int print_difference(const std::shared_ptr<const Settings>& wanted);
/// The same; `lost`: a bench would leave, and no other goes on for it.
int print_difference(const std::shared_ptr<const Settings>& wanted, bool& lost);

}  // namespace plainwater::tool
