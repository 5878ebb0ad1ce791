// Checks UTF-8.
#pragma once

#include <cstddef>
#include <string_view>

namespace plainwater {

/// Bytes of the character at `at`; 0 when no well-formed one begins there (RFC 3629: no overlong
/// forms, no surrogates, nothing above U+10FFFF).
std::size_t utf8_length(std::string_view bytes, std::size_t at);

}  // namespace plainwater
