// Sentences about sensors.
#pragma once

#include <string>

#include "climate/sensor_watch.h"
#include "feeding/decision.h"

namespace plainwater::engine {

feeding::Cause cause_of(climate::Doubt doubt);
const char* name_of(climate::Doubt doubt);  ///< "stuck", "silent" …; `none` is ""
std::string doubted(const std::string& sensor, climate::Doubt doubt, const std::string& bench);
std::string trusted_again(const std::string& sensor, climate::Doubt was);

}  // namespace plainwater::engine
