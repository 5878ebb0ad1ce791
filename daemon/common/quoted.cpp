#include "common/quoted.h"

#include "common/one_line.h"

namespace plainwater {

std::string quoted(std::string_view text, std::size_t most) {
  const auto goes_on = [&](std::size_t at) {
    return (static_cast<unsigned char>(text[at]) & 0xC0) == 0x80;
  };
  std::size_t end = text.size();
  if (end > most) {
    end = most;
    // A character has at most three bytes after its first; more than that is not UTF-8.
    std::size_t back = 0;
    while (back < 3 && back < end && goes_on(end - back)) ++back;
    if (!goes_on(end - back)) end -= back;
  }
  std::string quote(1, '"');
  quote.append(one_line(text.substr(0, end))).push_back('"');
  return quote;
}

}  // namespace plainwater
