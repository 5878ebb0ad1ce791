// Texts from outside in what people read line by line: a line stays a line, whatever was sent.
#pragma once

#include <string>
#include <string_view>

namespace plainwater {

/// Whether the UTF-8 holds a control character (U+0000 to U+001F, U+007F to U+009F) or a line or
/// paragraph separator.
bool has_controls(std::string_view text);
/// Those that break a line or move along it, tabs among them, become a space each; CR LF is one.
std::string without_breaks(std::string_view text);
/// All of them become a space each, and a byte that is no UTF-8 becomes a question mark: a topic
/// may hold any, or be cut within a character.
std::string one_line(std::string_view text);

}  // namespace plainwater
