// Reads the journal. Thread-safe; store.h has the rules for callbacks.
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

  /// Rows after `seq`, in order; 0 starts at the first row.
  Status since(std::int64_t seq, const JournalVisitor& visit);
  /// The same; `begins` is called with the state of the same moment.
  Status since(std::int64_t seq, const JournalBeginning& begins, const JournalVisitor& visit);
  /// Rows of one kind, in order; not for readings.
  Status of(JournalKind kind, const JournalVisitor& visit);
  /// The same, the newest row first.
  Status newest_of(JournalKind kind, const JournalVisitor& visit);
  /// The newest row's number; 0 in an empty journal.
  Result<std::int64_t> last_seq();
  /// Up to this row only contact readings are left; 0: all readings are there.
  Result<std::int64_t> thinned_seq();
  /// True when the journal has a reading of this quantity.
  Result<bool> holds(Quantity quantity);
  /// The latest engine time in the journal or a snapshot; none in an empty store.
  Result<std::optional<Instant>> last_now();
  /// Engine time of the first settings row: when a service first took up the store. Copies and
  /// backups keep it.
  Result<std::optional<Instant>> began();
  /// The settings of the last settings row up to `until_seq`.
  Result<std::optional<SettingsInForce>> settings_in_force(
      std::int64_t until_seq = std::numeric_limits<std::int64_t>::max());
  /// When a request with this id was first answered, in engine time; none: never.
  Result<std::optional<Instant>> first_answered(const std::string& id);
  /// Inputs that could never be journaled, oldest first, and their total number ever.
  Status not_stored(const NotStoredVisitor& visit);
  Result<std::int64_t> count_not_stored();
  /// SQLite's check of the journal takes seconds per ten million rows: run it in the background.
  Status check();

 private:
  ReadSide& side_;
};

}  // namespace plainwater::store
