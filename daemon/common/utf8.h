// Checks UTF-8, and makes it.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace plainwater {

/// Bytes of the character at `at`; 0 when no well-formed one begins there (RFC 3629: no overlong
/// forms, no surrogates, nothing above U+10FFFF).
std::size_t utf8_length(std::string_view bytes, std::size_t at);
bool is_utf8(std::string_view bytes);
/// Each byte that is not UTF-8 becomes a question mark.
std::string made_utf8(std::string_view bytes);

}  // namespace plainwater
