// A QR code (ISO/IEC 18004) as a picture.
#pragma once

#include <string>

namespace plainwater::board {

/// A part of a web address, with what does not stand there as it is in percent codes (RFC 3986).
std::string percent_coded(const std::string& text);
/// SVG, black on white with its quiet zone; `text` at most 500 bytes. Empty when it does not fit.
std::string code_svg(const std::string& text);

}  // namespace plainwater::board
