// Reads the kept snapshots. Thread-safe; store.h has the rules for callbacks.
#pragma once

#include <cstdint>
#include <optional>

#include "common/result.h"
#include "store/snapshot.h"

namespace plainwater::store {

class ReadSide;
class Store;

class SnapshotReads {
 public:
  /// The store must outlive it.
  explicit SnapshotReads(Store& store);

  Result<std::optional<Snapshot>> newest();
  /// Where an audit starts: the snapshot at the last retention cut; none when the journal is
  /// complete from its first row.
  Result<std::optional<Snapshot>> at_cut();
  /// The snapshot after this row.
  Result<std::optional<Snapshot>> at(std::int64_t seq);

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
