// A valid input, damaged as by a torn line, a flaky disk or a faulty device.
#pragma once

#include <string>
#include <string_view>

namespace plainwater {

/// Calls f(text) for every proper prefix of `whole`.
template <class F>
void for_every_prefix(std::string_view whole, F&& f) {
  for (std::size_t length = 0; length < whole.size(); ++length)
    f(std::string(whole.substr(0, length)));
}

/// Calls f(text) with each byte removed, each bit of each byte flipped, and each byte doubled, one
/// at a time.
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
