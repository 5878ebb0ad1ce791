#include "plainwater/progress.h"

#include <unistd.h>

#include <cstdio>

namespace plainwater::tool {
namespace {
constexpr int kWidth = 40;
}

Progress::Progress(std::string what)
    : what_(std::move(what)), terminal_(isatty(STDERR_FILENO) != 0) {}
Progress::~Progress() { clear(); }

void Progress::show(double share, const std::string& beside) {
  const int permille = static_cast<int>(share * 1000);
  if (!terminal_ || (permille == shown_ && beside == beside_)) return;
  shown_ = permille;
  beside_ = beside;
  std::string bar(static_cast<std::size_t>(kWidth), '.');
  for (int i = 0; i < kWidth * permille / 1000; ++i) bar[static_cast<std::size_t>(i)] = '=';
  std::fprintf(stderr, "\r%s [%s] %3d %%", what_.c_str(), bar.c_str(), permille / 10);
  if (!beside.empty()) std::fprintf(stderr, ", %s\033[K", beside.c_str());
  std::fflush(stderr);
}

void Progress::clear() {
  if (terminal_ && shown_ >= 0) std::fprintf(stderr, "\r\033[K");
  shown_ = -1;
}

}  // namespace plainwater::tool
