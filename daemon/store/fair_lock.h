// A lock that is given in the order in which it was asked for, so that a busy writer cannot starve
// another.
#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <mutex>
#include <thread>

namespace plainwater::store {

class FairLock {
 public:
  void lock();
  /// By the thread that locked it.
  void unlock();
  /// A thread that asked while holding it would wait for itself for ever; ask this first.
  bool held_by_this_thread() const { return owner_.load() == std::this_thread::get_id(); }

  /// Threads in the queue, the holder not counted.
  std::uint64_t waiting() const;

 private:
  mutable std::mutex mutex_;
  std::condition_variable turn_;
  std::uint64_t next_ = 0;
  std::uint64_t serving_ = 0;
  std::atomic<std::thread::id> owner_{};
};

}  // namespace plainwater::store
