// How old a store is, by the time now in force.
#pragma once

#include <optional>

#include "common/instant.h"
#include "common/result.h"
#include "store/store.h"

namespace plainwater::replay {

/// When a service first took up the store, but not later than any time to which the clock was set
/// back since: otherwise a store that began in a wrong future would seem younger than it is. None
/// before that. Copies and backups keep it.
Result<std::optional<Instant>> history_since(store::Store& store);

}  // namespace plainwater::replay
