#include "store/snapshot_reads.h"

#include "store/access.h"
#include "store/rows.h"

namespace plainwater::store {

SnapshotReads::SnapshotReads(Store& store) : side_(store.reads()) {}

Result<std::optional<Snapshot>> SnapshotReads::newest() {
  return side_.read(
      [](Connection& c) -> Result<std::optional<Snapshot>> { return newest_snapshot(c); });
}

Result<std::optional<Snapshot>> SnapshotReads::at_cut() {
  return side_.read(
      [](Connection& c) -> Result<std::optional<Snapshot>> { return snapshot_at_cut(c); });
}

Result<std::optional<Snapshot>> SnapshotReads::at(std::int64_t seq) {
  return side_.read(
      [&](Connection& c) -> Result<std::optional<Snapshot>> { return snapshot_of(c, seq); });
}

}  // namespace plainwater::store
