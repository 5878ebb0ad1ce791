// A QR code (ISO/IEC 18004) as a picture.
#pragma once

#include <string>

namespace plainwater::board {

inline constexpr std::size_t kLongestCoded = 500;
/// SVG, black on white with its quiet zone; `text` at most `kLongestCoded` bytes, else it is empty.
std::string code_svg(const std::string& text);

}  // namespace plainwater::board
