// What a field of a topic is: by the words of its name and of the names around it, by its unit, and
// by how it changes.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "listen/names.h"
#include "listen/series.h"
#include "listen/units.h"

namespace plainwater::listen {

struct Judged {
  Meaning meaning = Meaning::none;
  Sure sure = Sure::doubtful;  ///< that it is one
  std::optional<Unit> told{};  ///< a unit of temperature, by payload or name
  bool percent = false, fraction = false;
  std::string group{};  ///< fields of one device have the same: JSON Pointer or SenML base name
  std::string not_of_air{};  ///< the word by which it is not of the air; empty: it may be
  bool by_number_alone = false;
};

Judged judge(std::string_view topic, const Observed& observed, const Series& series);

/// The levels of a topic.
std::vector<std::string> topic_levels(std::string_view topic);
/// Whether a retained message on such a topic is a device's settings, not its readings.
bool holds_settings(std::string_view topic);

}  // namespace plainwater::listen
