// Letters of ASCII as small ones, for words that are compared whatever their case.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>

namespace plainwater {

/// Other bytes, those of UTF-8 among them, stay as they are.
inline std::string in_small_letters(std::string_view text) {
  std::string small(text);
  std::ranges::transform(small, small.begin(), [](char letter) {
    return letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a') : letter;
  });
  return small;
}

}  // namespace plainwater
