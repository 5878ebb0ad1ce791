#include "asking/wrapped.h"

#include <algorithm>

namespace plainwater::asking {
std::size_t columns_of(std::string_view text) {
  return static_cast<std::size_t>(std::ranges::count_if(
      text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80; }));
}

std::string wrapped(std::string_view text, std::size_t indent, std::size_t width) {
  constexpr std::size_t kFurther = 2;
  std::string out, line(indent, ' ');
  std::size_t used = indent;
  bool begun = false;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (word.empty()) continue;
    const std::size_t length = columns_of(word);
    if (begun && used + 1 + length > width) {
      out += line + "\n";
      line.assign(indent + kFurther, ' ');
      used = indent + kFurther;
      begun = false;
    }
    if (begun) line += ' ';
    used += length + (begun ? 1 : 0);
    line += word;
    begun = true;
  }
  return begun ? out + line + "\n" : out;
}

}  // namespace plainwater::asking
