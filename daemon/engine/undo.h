// How a request that was obeyed is taken back, where there is an exact way.
#pragma once

#include <optional>

#include "engine/concerned.h"
#include "feeding/request.h"

namespace plainwater::engine {

/// The request that does it, without an id and without who asks; none: there is no such way.
/// `before` and `after`: as the first one found and left the house.
std::optional<feeding::Request> undo_of(const feeding::Request& request, const Concerned& before,
                                        const Concerned& after);

}  // namespace plainwater::engine
