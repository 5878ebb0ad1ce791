// Quoting what came in from outside in a message to people.
#pragma once

#include <string>
#include <string_view>

namespace plainwater {

/// The text's beginning in quotes, at most `most` bytes of it and no UTF-8 character cut in two,
/// with spaces for control characters:
/// what quotes it goes out as JSON, and half a character would make that unreadable.
std::string quoted(std::string_view text, std::size_t most = 40);

}  // namespace plainwater
