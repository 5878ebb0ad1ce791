// A restore that changes nothing in the copy.
#pragma once

#include "store/restore.h"
#include "store/store.h"

namespace plainwater::store {

inline const Prepare kNothing = [](Store&) -> Status { return Done{}; };

}  // namespace plainwater::store
