// Where a bench is: indoors or outdoors.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "common/reading.h"

namespace plainwater {

enum class Position : std::uint8_t { unknown, indoors, outdoors };

constexpr const char* name_of(Position position) {
  return position == Position::indoors    ? "indoors"
         : position == Position::outdoors ? "outdoors"
                                          : "unknown";
}
/// `indoors` or `outdoors`, as people and the journal write it.
constexpr std::optional<Position> position_of(std::string_view word) {
  if (word == "indoors") return Position::indoors;
  if (word == "outdoors") return Position::outdoors;
  return std::nullopt;
}
/// As the value of a reading of Quantity::place, and back.
constexpr Milli milli_of(Position position) { return position == Position::outdoors ? 1000 : 0; }
constexpr Position position_of(Milli value) {
  return value == 0 ? Position::indoors : Position::outdoors;
}

}  // namespace plainwater
