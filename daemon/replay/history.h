// How old a store is, by the time that counts now.
#pragma once

#include <optional>

#include "common/instant.h"
#include "common/result.h"
#include "store/store.h"

namespace plainwater::replay {

/// When a service first took up the store; not later than any time to which time was set back
/// since, or a store that began ahead of time would look younger than it is. None before that.
/// Copies and backups keep it.
Result<std::optional<Instant>> history_since(store::Store& store);

}  // namespace plainwater::replay
