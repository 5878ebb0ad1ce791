// The store: one SQLite file with the journal, the ledger, nights, snapshots and the outbox.
//
// Thread-safe. Writes share one connection behind a lock that is given in the order of asking;
// reads use a connection of their own, so that a long read never delays an input. Callbacks of
// reads must not call the store's reads again. A thread must end its transaction before it begins
// another or calls any other write.
//
// Errors name the file. The first failed write makes the store unhealthy: from then on every write
// is refused with that reason until try_recover() succeeds, so that no input is stored after an
// unnoticed gap. The engine may then be ahead of the journal: rebuild it from
// SnapshotReads::newest() and JournalReads::since().
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <type_traits>

#include "common/instant.h"
#include "common/result.h"
#include "settings/settings.h"
#include "store/fair_lock.h"
#include "store/transaction.h"

namespace SQLite {
class Exception;
}

namespace plainwater::store {

class ClientKeyring;
class OrderNumbers;
class Connection;
class ReadSide;
class WriterClaim;

struct Retained {
  std::int64_t thinned = 0;  ///< readings turned into hourly rows by this call
  bool more = false;         ///< call again: there is more to do
};

/// Random numbers by which a store's orders are recognised as its own.
struct Identity {
  std::uint64_t id = 0;       ///< a new one when another instance takes up a copy
  std::uint64_t lineage = 0;  ///< the same in all copies; a new one after a restore
};

/// Pages copied, pages in all.
using BackupProgress = std::function<void(int done, int total)>;

class Store {
 public:
  /// Opens for writing. Makes the file if needed (mode 0640; the directory must exist) and migrates
  /// its schema. Refuses a file that is not ours, a newer schema, damaged ledger tables, and a
  /// store that another writer holds.
  static Result<std::unique_ptr<Store>> open(const std::filesystem::path& path,
                                             Durability durability);
  /// The same for a caller that holds the claim itself, longer than the store is open.
  static Result<std::unique_ptr<Store>> open(const std::filesystem::path& path,
                                             Durability durability, const WriterClaim& held);
  /// Opens an existing store of the current schema beside a running writer; every write is refused.
  static Result<std::unique_ptr<Store>> open_to_read(const std::filesystem::path& path);
  ~Store();
  Store(const Store&) = delete;
  Store& operator=(const Store&) = delete;

  /// Waits for its turn. Refused while the store is unhealthy.
  Result<Transaction> begin();

  /// For the readers (journal_reads.h, ledger_reads.h …), which see what was committed before they
  /// started.
  ReadSide& reads() { return *reader_; }

  /// Marking twice, or an unknown id, changes nothing.
  Status mark_acknowledged(std::int64_t effect_id, Instant at);
  /// 1 in a new store.
  Result<std::int64_t> epoch();
  /// Returns the new epoch, higher than `above` too; after a restore from backup.
  Result<std::int64_t> raise_epoch(std::int64_t above = 0);
  /// Drawn when this instance first takes up the store. For a store from before there were lineages
  /// it is derived from the time when the store began, which copies share.
  Result<Identity> identity(const std::string& instance);
  /// Makes the next `identity` a new one with a new lineage; after a restore from backup.
  Status forget_identity();
  /// Thins readings older than `raw_days` (at least 1) into hourly rows; contact readings stay
  /// unchanged. Cuts only at a kept snapshot that is itself that old, so the journal after it stays
  /// complete. Deletes effects acknowledged more than 30 days ago. Bounded work per call (some tens
  /// of milliseconds).
  Result<Retained> retain(Instant now, int raw_days);
  /// Seals rows of the journal that are not sealed yet, so that an audit notices a later change.
  /// Bounded work per call, as above; true: call again.
  Result<bool> seal();
  /// Makes a complete, consistent copy while writes go on; `target` must not exist, and appears
  /// only when complete.
  Status backup_to(const std::filesystem::path& target, const BackupProgress& progress = {});

  bool healthy() const;
  /// Why the store is unhealthy; none while healthy.
  std::optional<Error> trouble() const;
  /// Writes and removes a probe of 64 KiB and checkpoints the log; on success the store is healthy
  /// again.
  Status try_recover();

  const std::filesystem::path& path() const { return path_; }

 private:
  friend class Transaction;
  friend class ClientKeyring;
  friend class OrderNumbers;
  explicit Store(std::filesystem::path path);
  /// Runs a small write in its own transaction, in its turn.
  template <class Work>
  auto write(Work&& work) -> std::invoke_result_t<Work&, Connection&>;
  /// Waits for the writer's turn; an Error means that it was not given.
  Status take_turn();
  /// A failure of the world, not the caller's, makes the store unhealthy.
  Error write_failed(const SQLite::Exception& thrown);
  void latch(const Error& why);

  std::filesystem::path path_;
  std::unique_ptr<WriterClaim> claim_;  ///< released after the connections are closed
  std::unique_ptr<Connection> writer_;  ///< null when opened read-only
  std::unique_ptr<ReadSide> reader_;
  FairLock writing_;
  mutable std::mutex health_;
  std::optional<Error> trouble_;
};

}  // namespace plainwater::store
