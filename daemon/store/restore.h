// Puts a backup where a store is, or will be. The store's name stands for the whole old or the
// whole new one at any moment, also through a power cut.
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
  std::filesystem::path kept;    ///< in the same folder: where a store that is there already goes;
                                 ///< empty: there must be none
  bool beside = false;  ///< the backup's service goes on, and this will be one beside it: its epoch
                        ///< and lineage stay
};

struct Restored {
  std::int64_t epoch = 0;  ///< unless `beside`, higher than the backup's, and than that of the
                           ///< store before, as far as it could be read
  bool replaced = false;   ///< there was a store; it is `kept` now
};

/// What is to be written into the copy before it becomes the store.
using Prepare = std::function<Status(Store& copy)>;

/// Refuses: a store that a service holds, a file that is no sound backup. On any failure the store
/// stays as it was.
Result<Restored> restore(const RestorePlan& plan, const Prepare& prepare,
                         const BackupProgress& progress = {});

}  // namespace plainwater::store
