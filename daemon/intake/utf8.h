// Is it UTF-8? Asked of every payload before anything else looks at it.
#pragma once

#include <string_view>

namespace plainwater::intake {

/// Well-formed by RFC 3629: no overlong forms, no surrogates, nothing above U+10FFFF.
bool is_utf8(std::string_view bytes);

}  // namespace plainwater::intake
