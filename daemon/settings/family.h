// Families of sensors: one entry whose topic has wildcards, and whose name has {1}, {2} … in their
// place.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "settings/settings.h"

namespace plainwater {

/// More wildcards are refused: each is tried for every sensor and every message.
inline constexpr std::size_t kMostFamilies = 200;

/// True when the topic has a wildcard.
bool is_family(const SensorMapping& mapping);
/// Number of wildcards in the topic.
int wildcards(std::string_view topic);
/// What is wrong with a family's name, empty when it is valid: each {n} must refer to a wildcard,
/// there must be at least one, and the rest must be valid as a name.
std::optional<std::string> fault_of_family_name(const SensorMapping& mapping);
/// True when some message of the family's topics would get the name `sensor`.
bool reaches(const SensorMapping& family, std::string_view sensor);

}  // namespace plainwater
