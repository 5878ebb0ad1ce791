// Bytes as hexadecimal text.
#pragma once

#include <string>
#include <string_view>

namespace plainwater {

/// Two lower-case hexadecimal digits per byte.
inline std::string hex(std::string_view bytes) {
  std::string digits;
  for (const char byte : bytes)
    for (const int half : {byte >> 4 & 15, byte & 15}) digits += "0123456789abcdef"[half];
  return digits;
}

}  // namespace plainwater
