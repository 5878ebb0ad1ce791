// A part of a web address, with what does not stand there as it is in percent codes (RFC 3986).
#pragma once

#include <string>
#include <string_view>

namespace plainwater {

inline std::string percent_coded(std::string_view text) {
  static constexpr char kDigits[] = "0123456789ABCDEF";
  std::string out;
  for (const char c : text) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                       c == '-' || c == '.' || c == '_' || c == '~';
    if (plain) {
      out += c;
      continue;
    }
    const auto byte = static_cast<unsigned char>(c);
    out += {'%', kDigits[byte >> 4], kDigits[byte & 15]};
  }
  return out;
}

}  // namespace plainwater
