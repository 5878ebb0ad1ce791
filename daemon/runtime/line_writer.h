// Writes lines to a file on a thread of its own: a reader that is slow or absent loses lines but
// blocks nobody.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>

namespace plainwater::runtime {

class LineWriter {
 public:
  static constexpr std::size_t kMostWaiting = 5'000;  ///< lines; more are dropped

  /// `file` is an open descriptor that the caller keeps; it may be a pipe that nobody reads.
  explicit LineWriter(int file);
  /// Writes the waiting lines, as far as they are read within a second.
  ~LineWriter();
  LineWriter(const LineWriter&) = delete;
  LineWriter& operator=(const LineWriter&) = delete;

  /// From any thread; never waits. Pass the line without its line end. After dropped lines, one
  /// line says how many as soon as there is room again.
  void write(std::string line);

 private:
  void run();
  /// False when nobody read it before the end, or nobody ever will.
  bool put_out(std::string_view text);
  bool wait_for_room();

  const int file_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<std::string> waiting_;  ///< guarded, as all below
  std::uint64_t left_out_ = 0;
  bool ending_ = false;
  std::thread thread_;
};

}  // namespace plainwater::runtime
