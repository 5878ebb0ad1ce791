// Secrets that stand in files of their own: the broker's password, the pages' token, the metrics'
// password.
#pragma once

#include <string>
#include <string_view>

#include "common/result.h"

namespace plainwater {

/// The first line of the file, without its end (a carriage return is part of that); it may be
/// empty. `what` names the file in an error: "the password file". Errors name its path, never what
/// is in it.
Result<std::string> read_secret(const std::string& path, const std::string& what);

/// Whether somebody told the secret. Takes as long whatever differs, and wherever.
bool same_secret(std::string_view told, std::string_view secret);

}  // namespace plainwater
