#include "store/fair_lock.h"

namespace plainwater::store {

void FairLock::lock() {
  std::unique_lock guard(mutex_);
  const auto ticket = next_++;
  turn_.wait(guard, [&] { return serving_ == ticket; });
  owner_ = std::this_thread::get_id();
}

void FairLock::unlock() {
  {
    const std::lock_guard guard(mutex_);
    owner_ = std::thread::id{};
    ++serving_;
  }
  turn_.notify_all();
}

std::uint64_t FairLock::waiting() const {
  const std::lock_guard guard(mutex_);
  const auto asked = next_ - serving_;
  return asked == 0 ? 0 : asked - 1;
}

}  // namespace plainwater::store
