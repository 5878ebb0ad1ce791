// Quotes input from outside in a message to people.
#pragma once

#include <string>
#include <string_view>

namespace plainwater {

/// The start of the text in quotes, at most `most` bytes, with spaces for control characters. Never
/// cuts a UTF-8 character in two: the message goes out as JSON, which half a character would make
/// unreadable.
std::string quoted(std::string_view text, std::size_t most = 40);

}  // namespace plainwater
