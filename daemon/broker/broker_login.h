// How to reach the broker: its address in the library's form, and the password.
#pragma once

#include <string>
#include <string_view>

#include "common/result.h"
#include "settings/settings.h"

namespace plainwater::broker {

/// "mqtt://host:1883" -> "tcp://host:1883", "mqtts://host" -> "ssl://host:8883". The error never
/// repeats a password that somebody wrote into the address.
Result<std::string> library_address(std::string_view url);
/// The first line of the password file, or the named environment variable; empty when the settings
/// name neither. Read at each connect, so that a changed password needs no restart. Errors name the
/// place, never the content.
Result<std::string> read_password(const Broker& broker);
/// Checks that the certificates and the key in the settings can be opened.
Status check_files(const Broker& broker);
/// True for mqtts://.
bool is_encrypted(std::string_view url);

}  // namespace plainwater::broker
