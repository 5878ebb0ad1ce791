// A good input and what a torn line, a flaky disk or a bug in a device makes of it.
#pragma once

#include <string>
#include <string_view>

namespace plainwater {

/// Calls f(text) for every beginning of `whole` that is shorter than it.
template <class F>
void for_every_prefix(std::string_view whole, F&& f) {
  for (std::size_t length = 0; length < whole.size(); ++length)
    f(std::string(whole.substr(0, length)));
}

/// Calls f(text) with each byte left out, each bit of each byte flipped, and each byte given twice,
/// one at a time.
template <class F>
void for_every_damage(std::string_view whole, F&& f) {
  for (std::size_t at = 0; at < whole.size(); ++at) {
    const std::string before(whole.substr(0, at)), after(whole.substr(at + 1));
    f(before + after);
    f(before + whole[at] + whole[at] + after);
    for (int bit = 0; bit < 8; ++bit) f(before + static_cast<char>(whole[at] ^ (1 << bit)) + after);
  }
}

}  // namespace plainwater
