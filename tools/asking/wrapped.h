// Text for a terminal, broken between words.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace plainwater::asking {

/// Lines of at most `width` characters, each after `indent` spaces, the second and later ones after
/// two more; each ends with a line break. A word that is longer stands alone.
std::string wrapped(std::string_view text, std::size_t indent, std::size_t width = 80);

/// Characters of UTF-8, each of which takes one column.
std::size_t columns_of(std::string_view text);

}  // namespace plainwater::asking
