// Reads of the journal. Thread-safe; store.h tells about
// callbacks.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>

#include "common/result.h"
#include "store/journal.h"
#include "store/not_stored.h"

namespace plainwater::store {

class ReadSide;
class Store;

class JournalReads {
 public:
  /// The store must outlive it.
  explicit JournalReads(Store& store);

  /// Rows after `seq`, in order; 0 starts at the first.
  Status since(std::int64_t seq, const JournalVisitor& visit);
  /// The same; `begins` is told of the very moment whose rows follow.
  Status since(std::int64_t seq, const JournalBeginning& begins, const JournalVisitor& visit);
  /// Rows of one kind, in order; never readings.
  Status of(JournalKind kind, const JournalVisitor& visit);
  /// The newest row's number; 0 when there is none.
  Result<std::int64_t> last_seq();
  /// Up to this row only contacts' words are left of the readings; 0: all readings are there.
  Result<std::int64_t> thinned_seq();
  /// True when it holds a reading of this quantity.
  Result<bool> holds(Quantity quantity);
  /// The latest engine time journaled or in a snapshot; none in an empty store.
  Result<std::optional<Instant>> last_now();
  /// Engine time of the first settings row: when a service first took up the store. Copies and
  /// backups keep it.
  Result<std::optional<Instant>> began();
  /// Those of the last settings row up to `until_seq`.
  Result<std::optional<SettingsInForce>> settings_in_force(
      std::int64_t until_seq = std::numeric_limits<std::int64_t>::max());
  /// When a request of this id was first answered, in the engine time of then; none: never.
  Result<std::optional<Instant>> first_answered(const std::string& id);
  /// Inputs that could never be journaled, oldest first, and how many there ever were.
  Status not_stored(const NotStoredVisitor& visit);
  Result<std::int64_t> count_not_stored();
  /// SQLite's check of the journal: seconds per ten million rows; for the background.
  Status check();

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
