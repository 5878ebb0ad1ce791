#include "common/one_line.h"

#include <cstddef>

#include "common/utf8.h"

namespace plainwater {
namespace {

/// Bytes of the control character at `i`; 0 for any other character.
std::size_t control(std::string_view text, std::size_t i) {
  const auto byte = [&](std::size_t at) {
    return at < text.size() ? static_cast<unsigned char>(text[at]) : 0U;
  };
  if (byte(i) < 0x20 || byte(i) == 0x7F) return 1;
  if (byte(i) == 0xC2 && byte(i + 1) >= 0x80 && byte(i + 1) <= 0x9F) return 2;
  const bool separator =
      byte(i) == 0xE2 && byte(i + 1) == 0x80 && (byte(i + 2) == 0xA8 || byte(i + 2) == 0xA9);
  return separator ? 3 : 0;
}

/// True for a control character that breaks a line or moves along it.
bool is_break(std::string_view c) {
  return (c.size() == 1 && c[0] >= '\t' && c[0] <= '\r') || c == "\u0085" || c.size() == 3;
}

template <class Goes>
std::string with_spaces(std::string_view text, Goes goes) {
  std::string line;
  line.reserve(text.size());
  for (std::size_t i = 0; i < text.size();) {
    std::size_t length = control(text, i);
    if (length == 0 || !goes(text.substr(i, length))) {
      length = length == 0 ? 1 : length;
      line += text.substr(i, length);
    } else {
      length += text.substr(i, 2) == "\r\n" ? 1 : 0;
      line += ' ';
    }
    i += length;
  }
  return line;
}

}  // namespace

bool has_controls(std::string_view text) {
  for (std::size_t i = 0; i < text.size(); ++i)
    if (control(text, i) > 0) return true;
  return false;
}

std::string without_breaks(std::string_view text) { return with_spaces(text, is_break); }

std::string one_line(std::string_view text) {
  return made_utf8(with_spaces(text, [](std::string_view) { return true; }));
}

}  // namespace plainwater
