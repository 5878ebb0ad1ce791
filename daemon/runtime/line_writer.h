// Writes lines to a file from a thread of its own: who reads them too slowly, or not at all, loses
// lines and holds nobody up.
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
  static constexpr std::size_t kMostWaiting = 5'000;  ///< lines; later ones are left out

  /// `file` is an open descriptor and stays its owner's; it may be a pipe that nobody reads.
  explicit LineWriter(int file);
  /// Writes what waits, as far as somebody takes it within a second.
  ~LineWriter();
  LineWriter(const LineWriter&) = delete;
  LineWriter& operator=(const LineWriter&) = delete;

  /// By any thread; never waits. The line comes without its end. Where lines were left out, one
  /// tells how many as soon as there is room again.
  void write(std::string line);

 private:
  void run();
  /// False when nobody took it before the end, or nobody ever will.
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
