#include "plainwater-sim/progress.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>

namespace plainwater::sim {

constexpr int kWidth = 32;

Progress::Progress(bool quiet) : quiet_(quiet), terminal_(isatty(STDERR_FILENO) == 1) {}

bool Progress::due(double share) const {
  if (quiet_) return false;
  if (terminal_)
    return share >= 1 || std::chrono::steady_clock::now() - last_ >= std::chrono::milliseconds(100);
  return static_cast<int>(share * 10) > tenths_;
}

void Progress::show(double share, const std::string& what) {
  if (!due(share)) return;
  tenths_ = static_cast<int>(share * 10);
  if (terminal_) {
    last_ = std::chrono::steady_clock::now();
    const auto done = static_cast<std::size_t>(share * kWidth);
    fmt::print(stderr, "\r\033[K[{}{}] {:3.0f} %  {}", std::string(done, '#'),
               std::string(kWidth - done, '.'), share * 100, what);
  } else {
    fmt::print(stderr, "{:3d} %  {}\n", tenths_ * 10, what);
  }
  std::fflush(stderr);
}

void Progress::clear() {
  if (!quiet_ && terminal_) fmt::print(stderr, "\r\033[K");
  std::fflush(stderr);
}

}  // namespace plainwater::sim
