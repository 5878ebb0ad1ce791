// The store's read connection, separate so that a long read never delays an input. Thread-safe;
// reads take turns in the order of asking. For the store's own sources only.
#pragma once

#include <filesystem>
#include <mutex>
#include <type_traits>

#include "store/connection.h"
#include "store/fair_lock.h"

namespace plainwater::store {

class ReadSide {
 public:
  /// Throws SQLite::Exception. The file must exist.
  explicit ReadSide(const std::filesystem::path& path)
      : path_(path), connection_(path, Connection::Access::read) {}

  /// Runs a read in its turn; refused inside another read's callback.
  template <class Work>
  auto read(Work&& work) -> std::invoke_result_t<Work&, Connection&> {
    if (reading_.held_by_this_thread())
      return Error{"a read was started from within a read's callback", path_.string(),
                   "collect first, then read again"};
    const std::lock_guard turn(reading_);
    return connection_.guarded([&] { return work(connection_); });
  }
  /// Runs a read of seconds or minutes on a connection of its own, outside the queue.
  template <class Work>
  auto read_apart(Work&& work) const -> std::invoke_result_t<Work&, Connection&> {
    return connection_.guarded([&] {
      Connection own(path_, Connection::Access::read);
      return work(own);
    });
  }

  Connection& connection() { return connection_; }

 private:
  std::filesystem::path path_;
  Connection connection_;
  FairLock reading_;
};

}  // namespace plainwater::store
