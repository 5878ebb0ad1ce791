#include "intake/utf8.h"

#include <cstddef>
#include <cstdint>

namespace plainwater::intake {
namespace {

/// Bytes of the sequence that `lead` begins, and the bounds of its second byte; 0 when it begins
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

bool is_utf8(std::string_view bytes) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint8_t>(bytes[i]); };
  for (std::size_t i = 0; i < bytes.size();) {
    const Sequence s = sequence(byte(i));
    if (s.length == 0 || i + s.length > bytes.size()) return false;
    if (s.length > 1 && (byte(i + 1) < s.low || byte(i + 1) > s.high)) return false;
    for (std::size_t k = 2; k < s.length; ++k)
      if (byte(i + k) < 0x80 || byte(i + k) > 0xBF) return false;
    i += s.length;
  }
  return true;
}

}  // namespace plainwater::intake
