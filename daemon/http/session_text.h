// Sessions as the text of a file: JSON, hashes of keys only.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "common/result.h"
#include "http/sessions.h"

namespace plainwater::http {

inline constexpr std::size_t kLargestSessionFile = 1024 * 1024;

std::string sessions_text(const std::vector<Session>& sessions);
/// Error: it is not such a text, or one of them is not whole; then none is believed.
Result<std::vector<Session>> read_sessions(std::string_view text);

}  // namespace plainwater::http
