// Temperatures as people read them. State, ledger and messages for programs are in °C; where
// `board.unit` asks for °F, what people read is converted on its way out.
#pragma once

#include <string>

#include "settings/settings.h"

namespace plainwater {

/// "°C" or "°F".
const char* symbol_of(ShownUnit unit);
double shown_degrees(double celsius, ShownUnit unit);
/// One of our own sentences, its temperatures in this unit. Falls are differences: 1 °C is 1.8 °F.
std::string in_unit(const std::string& sentence, ShownUnit unit);

}  // namespace plainwater
