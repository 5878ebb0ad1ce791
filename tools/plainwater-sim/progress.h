// How far the season is: a bar on a terminal, a line for every tenth elsewhere. Both on standard
// error.
#pragma once

#include <chrono>
#include <cstddef>
#include <string>

namespace plainwater::sim {

class Progress {
 public:
  explicit Progress(bool quiet);
  /// `share` from 0 to 1; `what` stands behind the bar. Cheap enough for every report.
  void show(double share, const std::string& what);
  /// Is it worth while to make the text for show()?
  bool due(double share) const;
  void clear();

 private:
  bool quiet_, terminal_;
  int tenths_ = 0;
  std::chrono::steady_clock::time_point last_{};
};

}  // namespace plainwater::sim
