// What the settings take already of that which was heard. Pure.
#pragma once

#include <vector>

#include "settings/settings.h"

namespace plainwater::listen {

/// Whether one of `known` reads what `heard`, an entry for one topic, would read: the same topic,
/// and in it a field in common. An entry without fields reads the whole payload.
bool is_known(const SensorMapping& heard, const std::vector<SensorMapping>& known);

}  // namespace plainwater::listen
