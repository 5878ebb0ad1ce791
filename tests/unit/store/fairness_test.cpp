#include <atomic>
#include <chrono>
#include <thread>

#include "fixture.h"

namespace plainwater::store {
namespace {

TEST_CASE("the lock is given in the order of asking") {
  FairLock lock;
  std::vector<int> order;
  std::vector<std::thread> waiting;
  lock.lock();
  CHECK(lock.held_by_this_thread());
  for (int i = 0; i < 8; ++i) {
    waiting.emplace_back([&, i] {
      lock.lock();
      order.push_back(i);
      lock.unlock();
    });
    while (lock.waiting() != static_cast<std::uint64_t>(i) + 1) std::this_thread::yield();
  }
  lock.unlock();
  for (auto& thread : waiting) thread.join();
  CHECK(order == std::vector<int>{0, 1, 2, 3, 4, 5, 6, 7});
  CHECK_FALSE(lock.held_by_this_thread());
  CHECK(lock.waiting() == 0);
}

TEST_CASE("a thread that releases the lock and asks again comes after those who wait") {
  for (int i = 0; i < 20; ++i) {
    FairLock lock;
    bool served = false;
    lock.lock();
    std::thread other([&] {
      lock.lock();
      served = true;
      lock.unlock();
    });
    while (lock.waiting() != 1) std::this_thread::yield();
    lock.unlock();
    lock.lock();
    CHECK(served);
    lock.unlock();
    other.join();
  }
}

TEST_CASE("a writer that commits back to back does not starve another") {
  const Folder folder;
  auto store = opened(folder / "s.db", Durability::power);
  std::atomic<bool> stop = false;
  std::atomic<int> busy = 0;
  std::atomic<bool> failed = false;
  std::thread ingest([&] {
    for (int i = 0; !stop; ++i) {
      auto transaction = store->begin();
      if (!transaction || !transaction->append(reading("air", kStart + seconds(i), i)) ||
          !transaction->commit()) {
        failed = true;
        return;
      }
      ++busy;
    }
  });
  while (busy == 0 && !failed) std::this_thread::yield();
  const int before = busy;
  static constexpr int kTurns = 50;
  int long_waits = 0;
  for (int i = 0; i < kTurns; ++i) {
    const int then = busy;
    auto transaction = must(store->begin());
    if (busy - then > 1) ++long_waits;
    must(transaction.append(other(JournalKind::tick, kStart, "")));
    must(transaction.commit());
  }
  const int between = busy - before;
  stop = true;
  ingest.join();
  CHECK_FALSE(failed);
  INFO("the other writer committed " << between << " times in " << kTurns << " turns; "
                                     << long_waits << " waits let it commit twice or more");
  // Taking turns is one each; the slack allows for a thread that was scheduled late.
  CHECK(long_waits <= kTurns / 5);
  CHECK(between >= 1);
}

}  // namespace
}  // namespace plainwater::store
