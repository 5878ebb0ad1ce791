// A lock given in the order in which threads asked for it, so that a busy writer cannot starve
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
  /// Called by the thread that locked it.
  void unlock();
  /// True when this thread holds the lock; locking again would wait for ever.
  bool held_by_this_thread() const { return owner_.load() == std::this_thread::get_id(); }

  /// Threads in the queue, without the holder.
  std::uint64_t waiting() const;

 private:
  mutable std::mutex mutex_;
  std::condition_variable turn_;
  std::uint64_t next_ = 0;
  std::uint64_t serving_ = 0;
  std::atomic<std::thread::id> owner_{};
};

}  // namespace plainwater::store
