#include "settings/persons_name.h"

#include <algorithm>
#include <string>

#include "common/small_letters.h"
#include "common/utf8.h"
#include "settings/scalar.h"

namespace plainwater {
namespace {

struct Characters {
  char32_t first, last;
};

/// What Unicode has beyond ASCII of controls, spaces, marks of direction, and characters that take
/// no room (its Default_Ignorable_Code_Point), in order.
constexpr Characters kUnseen[] = {
    {0x80, 0xA0},       {0xAD, 0xAD},     {0x34F, 0x34F},   {0x61C, 0x61C},     {0x115F, 0x1160},
    {0x1680, 0x1680},   {0x17B4, 0x17B5}, {0x180B, 0x180F}, {0x2000, 0x200F},   {0x2028, 0x202F},
    {0x205F, 0x206F},   {0x2800, 0x2800}, {0x3000, 0x3000}, {0x3164, 0x3164},   {0xFE00, 0xFE0F},
    {0xFEFF, 0xFEFF},   {0xFFA0, 0xFFA0}, {0xFFF0, 0xFFFB}, {0x1BCA0, 0x1BCA3}, {0x1D173, 0x1D17A},
    {0xE0000, 0xE0FFF},
};

/// Of well-formed UTF-8.
char32_t character_at(std::string_view text, std::size_t at, std::size_t length) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[at + i]); };
  if (length == 1) return byte(0);
  char32_t character = byte(0) & (0x7F >> length);
  for (std::size_t i = 1; i < length; ++i) character = character << 6 | (byte(i) & 0x3F);
  return character;
}

/// `name` is UTF-8.
bool is_all_seen(std::string_view name) {
  for (std::size_t at = 0; at < name.size();) {
    const std::size_t length = utf8_length(name, at);
    if (length == 0) return false;
    const char32_t character = character_at(name, at, length);
    if (std::ranges::any_of(kUnseen, [&](const Characters& c) {
          return character >= c.first && character <= c.last;
        }))
      return false;
    at += length;
  }
  return true;
}

/// notices/urgent and the like are topics of everybody's notices.
bool is_of_notices(std::string_view name) {
  const std::string small = in_small_letters(name);
  return small == "urgent" || small == "soon" || small == "info";
}

}  // namespace

bool is_persons_name(std::string_view name) {
  return is_level_name(name) && name.find_first_of("\"'<>&\\,;:=`") == std::string_view::npos &&
         is_all_seen(name) && !is_of_notices(name);
}

}  // namespace plainwater
