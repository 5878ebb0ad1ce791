// The unit that people read temperatures in. State, ledger and messages for programs are in °C.
#pragma once

#include <cstdint>

namespace plainwater {

enum class ShownUnit : std::uint8_t { celsius, fahrenheit };

/// "°C" or "°F".
constexpr const char* symbol_of(ShownUnit unit) {
  return unit == ShownUnit::fahrenheit ? "°F" : "°C";
}
constexpr double shown_degrees(double celsius, ShownUnit unit) {
  return unit == ShownUnit::fahrenheit ? celsius * 1.8 + 32.0 : celsius;
}
constexpr double shown_difference(double celsius, ShownUnit unit) {
  return unit == ShownUnit::fahrenheit ? celsius * 1.8 : celsius;
}

}  // namespace plainwater
