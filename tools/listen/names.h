// What names say: the words of topics and of members of JSON, in the languages that people name
// their sensors in.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "settings/settings.h"

namespace plainwater::listen {

/// The words of a name, in lower case: "airTemp_2" gives air, temp. Digits part words.
std::vector<std::string> words_of(std::string_view name);

enum class Meaning {
  none,
  temperature,
  humidity,
  contact,
  time,
  neutral,  ///< "value", "state": what it is, the name around it says
  other,    ///< something else: a battery, a signal, a pressure
};
/// By the words of one name. `other` goes before what it is of: "battery temperature" is other.
Meaning meaning_of(const std::vector<std::string>& words);
/// The word that makes a temperature or humidity not one of the air: "soil", "setpoint"; empty when
/// there is none.
std::string not_of_air(const std::vector<std::string>& words);
/// Whether the name says that it stands in the open air.
bool says_outdoors(const std::vector<std::string>& words);
/// A unit of temperature within a name: "temp_f", "celsius".
std::optional<Unit> unit_in_name(const std::vector<std::string>& words);

/// A unit as payloads write it.
struct UnitText {
  std::optional<Unit> temperature{};
  bool percent = false;   ///< %RH, %
  bool fraction = false;  ///< a share of 1
  bool known() const { return temperature || percent || fraction; }
};
UnitText read_unit(std::string_view text);

}  // namespace plainwater::listen
