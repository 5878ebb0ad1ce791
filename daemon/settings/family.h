// Families of sensors: one entry whose topic holds wildcards and whose name holds {1}, {2} … for
// what they stand for.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "settings/settings.h"

namespace plainwater {

/// More are refused: each is tried for every sensor and every message.
inline constexpr std::size_t kMostFamilies = 200;

/// The topic holds a wildcard.
bool is_family(const SensorMapping& mapping);
/// How many wildcards the topic holds.
int wildcards(std::string_view topic);
/// What is wrong with the name of a family, nothing when it is right: each {n} must name a
/// wildcard, one at least, and what is left when they are taken out must be fit for a name.
std::optional<std::string> fault_of_family_name(const SensorMapping& mapping);
/// Some message of the family's topics would be named `sensor`.
bool reaches(const SensorMapping& family, std::string_view sensor);

}  // namespace plainwater
