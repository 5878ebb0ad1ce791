// Makes text from outside safe to show on one line, whatever was sent.
#pragma once

#include <string>
#include <string_view>

namespace plainwater {

/// Whether the UTF-8 holds a control character (U+0000 to U+001F, U+007F to U+009F) or a line or
/// paragraph separator.
bool has_controls(std::string_view text);
/// Characters that break a line or move along it (tabs too) each become a space; CR LF becomes one.
std::string without_breaks(std::string_view text);
/// All control characters become a space each, and a byte that is not UTF-8 a question mark: a
/// topic may hold any bytes, or be cut within a character.
std::string one_line(std::string_view text);

}  // namespace plainwater
