// The unit of temperature that the heading of a column states.
#pragma once

#include <optional>
#include <string_view>

#include "settings/settings.h"

namespace plainwater::tool {

/// "T1 (°F)", "Temp [K]", "temp_f", "degC", "Fahrenheit". A bare letter counts only in brackets or
/// behind a word of temperature: "Bench C" and "mist-f" state none.
std::optional<Unit> unit_in_heading(std::string_view heading);
/// A field that is a unit and no more, as in a row of units: "°F", "F", "[K]", "degC".
std::optional<Unit> unit_alone(std::string_view field);
/// "°C", "°F", "K"
const char* symbol_of(Unit unit);

}  // namespace plainwater::tool
