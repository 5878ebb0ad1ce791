// Proposed entries as the text of a settings file, with what a person should look at beside it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "listen/entries.h"
#include "settings/settings.h"

namespace plainwater::listen {

/// What marks a line that a person should look at.
inline constexpr const char* kMark = "CHECK";

struct About {
  Broker broker{};          ///< as we reached it
  std::string heard{};      ///< "in 2 min on # of mqtt://house:1883"
  std::string file{};       ///< name of the settings file, for the advice in it
  std::string time_zone{};  ///< of this machine; empty: not known
  std::optional<double> latitude{}, longitude{};  ///< none: the key stays blank
  bool clock_kept = true;    ///< a time service is seen to keep this machine's clock
  std::string place_from{};  ///< where they come from, when nobody gave them: "London"
};

/// A whole settings file.
std::string settings_text(const std::vector<Entry>& entries, const House& house,
                          const About& about);
/// The entries of `sensors:` alone.
std::string sensors_text(const std::vector<Entry>& entries);

}  // namespace plainwater::listen
