// Puts a backup in the place of a store. At any moment, even through a power cut, the store's name
// refers to the whole old or the whole new one.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>

#include "common/result.h"
#include "store/store.h"

namespace plainwater::store {

struct RestorePlan {
  std::filesystem::path backup;
  std::filesystem::path target;  ///< the store's name
  std::filesystem::path
      kept;  ///< in the same folder: new name for an existing store; empty: there must be none
  bool beside = false;  ///< the backup's service goes on, and this one runs beside it: epoch and
                        ///< lineage stay the same
  /// Looks at the store that is there, once no service can hold it; an error leaves it there.
  std::function<Status(const std::filesystem::path& store)> look{};
};

struct Restored {
  std::int64_t epoch = 0;  ///< unless `beside`, higher than the backup's and the old store's, as
                           ///< far as that could be read
  bool replaced = false;   ///< there was a store; it is now `kept`
};

/// Data to write into the copy before it becomes the store.
using Prepare = std::function<Status(Store& copy)>;

/// Refuses a store that a service holds, and a file that is not a sound backup. After any failure
/// the store is unchanged.
Result<Restored> restore(const RestorePlan& plan, const Prepare& prepare,
                         const BackupProgress& progress = {});

}  // namespace plainwater::store
