#include <array>

#include "outlet/placard.h"

namespace plainwater::outlet {
namespace {

/// The letters U+00C0 to U+017F without their accents; '*' has two letters, in kPairs.
constexpr std::string_view kLetters =
    "AAAAAA*CEEEEIIIIDNOOOOOxOUUUUY**aaaaaa*ceeeeiiiidnooooo/ouuuuy*y"
    "AaAaAaCcCcCcCcDdDdEeEeEeEeEeGgGgGgGgHhHhIiIiIiIiIi**JjKkkLlLlLlLlLlNnNnNnnNnOoOoOo**"
    "RrRrRrSsSsSsSsTtTtTtUuUuUuUuUuUuWwYyYZzZzZzs";
static_assert(kLetters.size() == 0x180 - 0xC0);

struct Pair {
  char32_t letter;
  std::string_view text;
};
constexpr std::array kPairs = {Pair{0xC6, "AE"},  Pair{0xDE, "Th"},  Pair{0xDF, "ss"},
                               Pair{0xE6, "ae"},  Pair{0xFE, "th"},  Pair{0x132, "IJ"},
                               Pair{0x133, "ij"}, Pair{0x152, "OE"}, Pair{0x153, "oe"}};

std::string letter(char32_t code) {
  if (code >= 0x20 && code < 0x7F) return {static_cast<char>(code)};
  if (code == 0xB0) return "";  // of °C
  if (code < 0xC0 || code >= 0x180) return "?";
  for (const Pair& pair : kPairs)
    if (pair.letter == code) return std::string(pair.text);
  return {kLetters[code - 0xC0]};
}

bool continues(char c) { return (static_cast<unsigned char>(c) & 0xC0) == 0x80; }

}  // namespace

std::string plain_ascii(std::string_view utf8) {
  std::string text;
  for (std::size_t i = 0; i < utf8.size();) {
    const auto first = static_cast<unsigned char>(utf8[i++]);
    char32_t code = first;
    // Only two-byte letters are known; of any other character the first byte leads to '?'.
    if (first >= 0xC2 && first < 0xE0 && i < utf8.size() && continues(utf8[i]))
      code = static_cast<char32_t>((first & 0x1FU) << 6U) |
             (static_cast<unsigned char>(utf8[i]) & 0x3FU);
    else if (first >= 0x80)
      code = 0;
    while (i < utf8.size() && first >= 0xC0 && continues(utf8[i])) ++i;
    text += letter(code);
  }
  return text;
}

}  // namespace plainwater::outlet
