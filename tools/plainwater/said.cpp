#include "plainwater/said.h"

#include <cstdio>

namespace plainwater::tool {

words::Value grouped(std::uint64_t number, const words::Reader& reader) {
  std::string digits = std::to_string(number);
  const std::string mark = reader(words::say("thousands-mark"));
  for (auto at = static_cast<std::ptrdiff_t>(digits.size()) - 3; at > 0; at -= 3)
    digits.insert(static_cast<std::size_t>(at), mark);
  return words::name(digits);
}

std::string minute_of(Instant shown) {
  std::string text = format_rfc3339(shown).substr(0, 16);
  text[10] = ' ';
  return text;
}

void print_line(const words::Reader& reader, const words::Sentence& sentence) {
  std::printf("%s\n", reader(sentence).c_str());
}

}  // namespace plainwater::tool
