// Secrets kept in files of their own: the broker's password, the pages' token, the metrics'
// password.
#pragma once

#include <string>
#include <string_view>

#include "common/result.h"

namespace plainwater {

/// The first line of the file, without its line end (or carriage return); may be empty. `what`
/// names the file in an error: "the password file". Errors name its path, never its content.
Result<std::string> read_secret(const std::string& path, const std::string& what);

/// True when `given` is the secret. Takes the same time wherever they differ.
bool same_secret(std::string_view given, std::string_view secret);

}  // namespace plainwater
