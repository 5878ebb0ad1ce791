// Shared by the fuzz targets. Each target is one file with LLVMFuzzerTestOneInput, and checks more
// than that a reader does not crash on arbitrary bytes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>

namespace plainwater::fuzz {

/// `what` must hold for every input; otherwise the run ends here, and libFuzzer keeps the input.
inline void expect(bool holds, const char* what) {
  if (holds) return;
  std::fprintf(stderr, "does not hold: %s\n", what);
  std::abort();
}

inline std::string_view text_of(const std::uint8_t* data, std::size_t size) {
  return size == 0 ? std::string_view()
                   : std::string_view(reinterpret_cast<const char*>(data), size);
}

/// The input's first byte chooses among `ways`, the rest is read: so one corpus tries several
/// settings. Printable choices keep the corpus readable: '0' is the first way.
inline std::size_t choice(std::string_view& input, std::size_t ways) {
  if (input.empty()) return 0;
  const auto chosen = static_cast<std::uint8_t>(input.front() - '0') % ways;
  input.remove_prefix(1);
  return chosen;
}

}  // namespace plainwater::fuzz
