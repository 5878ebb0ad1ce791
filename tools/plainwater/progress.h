// A progress bar on a terminal's standard error; silent elsewhere.
#pragma once

#include <string>

namespace plainwater::tool {

class Progress {
 public:
  explicit Progress(std::string what);
  ~Progress();
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  /// 0..1; cheap to call often. `beside` stands behind the bar: the time left.
  void show(double share, const std::string& beside = {});
  /// Clears the bar, so that other lines can be printed.
  void clear();

 private:
  std::string what_;
  bool terminal_;
  int shown_ = -1;
  std::string beside_;
};

}  // namespace plainwater::tool
