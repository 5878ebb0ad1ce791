#include "common/utf8.h"

#include <cstdint>

namespace plainwater {
namespace {

/// Length of the sequence that `lead` begins, and the bounds of its second byte; 0 when it begins
/// none.
struct Sequence {
  std::size_t length;
  std::uint8_t low, high;
};

constexpr Sequence sequence(std::uint8_t lead) {
  if (lead < 0x80) return {1, 0, 0};
  if (lead < 0xC2) return {0, 0, 0};
  if (lead < 0xE0) return {2, 0x80, 0xBF};
  if (lead == 0xE0) return {3, 0xA0, 0xBF};
  if (lead == 0xED) return {3, 0x80, 0x9F};
  if (lead < 0xF0) return {3, 0x80, 0xBF};
  if (lead == 0xF0) return {4, 0x90, 0xBF};
  if (lead < 0xF4) return {4, 0x80, 0xBF};
  if (lead == 0xF4) return {4, 0x80, 0x8F};
  return {0, 0, 0};
}

}  // namespace

std::size_t utf8_length(std::string_view bytes, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint8_t>(bytes[at + i]); };
  if (at >= bytes.size()) return 0;
  const Sequence s = sequence(byte(0));
  if (s.length == 0 || at + s.length > bytes.size()) return 0;
  if (s.length > 1 && (byte(1) < s.low || byte(1) > s.high)) return 0;
  for (std::size_t k = 2; k < s.length; ++k)
    if (byte(k) < 0x80 || byte(k) > 0xBF) return 0;
  return s.length;
}

bool is_utf8(std::string_view bytes) {
  for (std::size_t i = 0; i < bytes.size();) {
    const auto length = utf8_length(bytes, i);
    if (length == 0) return false;
    i += length;
  }
  return true;
}

std::string made_utf8(std::string_view bytes) {
  std::string made;
  made.reserve(bytes.size());
  for (std::size_t i = 0; i < bytes.size();) {
    const auto length = utf8_length(bytes, i);
    if (length == 0)
      made += '?';
    else
      made.append(bytes, i, length);
    i += length == 0 ? 1 : length;
  }
  return made;
}

}  // namespace plainwater
