#include "runtime/line_writer.h"

#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <climits>
#include <utility>

namespace plainwater::runtime {
namespace {

constexpr int kLook_ms = 100;  // how often a writer that waits for a reader checks whether to stop
constexpr int kLastLooks = 10;

}  // namespace

LineWriter::LineWriter(int file) : file_(file), thread_([this] { run(); }) {}

LineWriter::~LineWriter() {
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
  }
  changed_.notify_all();
  thread_.join();
}

void LineWriter::write(std::string line) {
  {
    const std::lock_guard lock(mutex_);
    if (waiting_.size() >= kMostWaiting) {
      ++left_out_;
      return;
    }
    waiting_.push_back(std::move(line) + "\n");
  }
  changed_.notify_all();
}

void LineWriter::run() {
  std::unique_lock lock(mutex_);
  while (true) {
    changed_.wait(lock, [this] { return ending_ || !waiting_.empty(); });
    if (waiting_.empty()) return;
    std::string text = std::move(waiting_.front());
    waiting_.pop_front();
    const auto left_out = waiting_.empty() ? std::exchange(left_out_, 0) : 0;
    lock.unlock();
    if (left_out > 0)
      text += fmt::format("({} lines were left out here: nobody read them in time)\n", left_out);
    const bool taken = put_out(text);
    lock.lock();
    if (!taken && ending_) return;
  }
}

bool LineWriter::wait_for_room() {
  for (int last_looks = 0; last_looks < kLastLooks;) {
    pollfd room{file_, POLLOUT, 0};
    const int found = ::poll(&room, 1, kLook_ms);
    if (found > 0) return (room.revents & POLLOUT) != 0;
    if (found < 0 && errno != EINTR) return false;
    const std::lock_guard lock(mutex_);
    if (ending_) ++last_looks;
  }
  return false;
}

bool LineWriter::put_out(std::string_view text) {
  while (!text.empty()) {
    if (!wait_for_room()) return false;
    // poll() promises this much room in a pipe, so the write does not block.
    const auto done = ::write(file_, text.data(), std::min<std::size_t>(text.size(), PIPE_BUF));
    if (done >= 0)
      text.remove_prefix(static_cast<std::size_t>(done));
    else if (errno != EINTR && errno != EAGAIN)
      return false;
  }
  return true;
}

}  // namespace plainwater::runtime
