// Progress through the season on standard error: a bar on a terminal, otherwise a line every tenth.
#pragma once

#include <chrono>
#include <cstddef>
#include <string>

namespace plainwater::sim {

class Progress {
 public:
  explicit Progress(bool quiet);
  /// `share` from 0 to 1; `what` is shown behind the bar. Cheap enough to call for every report.
  void show(double share, const std::string& what);
  /// True when show() would print, so that its text is worth making.
  bool due(double share) const;
  void clear();

 private:
  bool quiet_, terminal_;
  int tenths_ = 0;
  std::chrono::steady_clock::time_point last_{};
};

}  // namespace plainwater::sim
