// Where programs look for the settings when no file is named.
#pragma once

#include <string>

namespace plainwater {

/// `named` if it is not empty; else $PLAINWATER_SETTINGS, else plainwater.yaml in the working
/// folder, else /etc/plainwater/plainwater.yaml. Empty: there is none of these. What the
/// environment names is taken whether or not it is there, so that a mistyped name is told.
std::string settings_file(const std::string& named);

/// For a message when there are none.
inline constexpr const char* kWhereSettingsAre =
    "no settings: name a file with --settings or in PLAINWATER_SETTINGS, or put plainwater.yaml "
    "into this folder or into /etc/plainwater; plainwater listen proposes new ones";

}  // namespace plainwater
