// The store: one SQLite file with the journal, the ledger, nights, snapshots and the outbox.
//
// Thread-safe. Writes pass one connection behind a lock that is given in the order of asking; reads
// use a connection of their own, so that a long read never delays an input. Callbacks of reads must
// not call the store's reads again. A thread must end its transaction before it begins another or
// calls any other write.
//
// Errors name the file. The first failed write makes the store unhealthy: from then on every write
// is refused with that reason until try_recover() succeeds, so that no input is stored after a gap
// that nobody noticed. The engine may then be ahead of the journal: rebuild it from
// latest_snapshot() and journal_since().
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <limits>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include "common/instant.h"
#include "common/result.h"
#include "settings/settings.h"
#include "store/fair_lock.h"
#include "store/journal.h"
#include "store/ledger.h"
#include "store/outbox.h"
#include "store/snapshot.h"
#include "store/transaction.h"

namespace SQLite {
class Exception;
}

namespace plainwater::notices {
struct Item;
}

namespace plainwater::store {

class Connection;
class WriterClaim;

struct SettingsInForce {
  std::int64_t seq = 0;
  Instant now{};
  std::string body;  ///< as journaled
};

struct Retained {
  std::int64_t thinned = 0;  ///< readings made into hourly rows by this call
  bool more = false;         ///< call again: there is more to do
};

/// Pages copied, pages in all.
using BackupProgress = std::function<void(int done, int total)>;

class Store {
 public:
  /// Opens for writing; makes the file (mode 0640, the directory must exist) and brings its schema
  /// up to date. Refuses: a file that is not ours, a newer schema, damaged ledger tables, a store
  /// that another writer holds.
  static Result<std::unique_ptr<Store>> open(const std::filesystem::path& path,
                                             Durability durability);
  /// Opens an existing store of this very schema beside a running writer; every write is refused.
  static Result<std::unique_ptr<Store>> open_to_read(const std::filesystem::path& path);
  ~Store();
  Store(const Store&) = delete;
  Store& operator=(const Store&) = delete;

  /// Waits for its turn. Refused while the store is unhealthy.
  Result<Transaction> begin();

  // Reads see what was committed before they started.
  Result<std::optional<Snapshot>> latest_snapshot();
  /// Where an audit starts: the snapshot at the last retention cut; none when the journal is whole
  /// from its first row.
  Result<std::optional<Snapshot>> audit_start();
  /// The one with this row folded in last.
  Result<std::optional<Snapshot>> snapshot_at(std::int64_t seq);
  /// Rows after `seq`, in order; 0 starts at the first.
  Status journal_since(std::int64_t seq, const JournalVisitor& visit);
  /// The newest journal row's number; 0 when there is none.
  Result<std::int64_t> last_seq();
  /// Up to this row only contacts' words are left of the readings; 0: all readings are there.
  Result<std::int64_t> thinned_seq();
  /// True when the journal holds a reading of this quantity.
  Result<bool> holds(Quantity quantity);
  /// The largest engine time journaled or in a snapshot; none in an empty store.
  Result<std::optional<Instant>> last_now();
  /// Engine time of the first settings row: when a service first took up the store. Copies and
  /// backups keep it.
  Result<std::optional<Instant>> began();
  /// Those of the last settings row up to `until_seq`.
  Result<std::optional<SettingsInForce>> settings_in_force(
      std::int64_t until_seq = std::numeric_limits<std::int64_t>::max());
  Status ledger(const LedgerFilter& filter, const LedgerVisitor& visit);
  /// Decisions of these few kinds, oldest first, without looking at the others; empty name: of all
  /// benches.
  Status decisions_of(const std::vector<std::string>& kinds, std::string_view bench,
                      const LedgerVisitor& visit);
  /// Decisions after the `ordinal`th of `seq`, in the order of the inputs that brought them; at
  /// most `limit`.
  Result<std::vector<LedgerRow>> ledger_page(std::int64_t seq, std::int64_t ordinal,
                                             std::int64_t limit);
  /// How many decisions the inputs up to `seq` brought.
  Result<std::int64_t> decisions_until(std::int64_t seq);
  /// The first decision after `seq` whose input is not in the journal.
  Result<std::optional<LedgerRow>> decision_of_nothing(std::int64_t seq);
  /// In order of date, from and to the evenings of these dates ("2026-09-14"; empty: no bound);
  /// empty name: all benches, by name. Needs engine/engine.h at the caller.
  Result<std::vector<engine::NightRow>> nights(std::string_view bench, std::string_view from = {},
                                               std::string_view to = {});
  /// Dates of the first and the last night of all; none before the first.
  Result<std::optional<std::pair<std::string, std::string>>> nights_span();
  /// Readings of a sensor measured in [from, to), in order of time, as far as they are not thinned
  /// yet. Of two of one time the smaller counts.
  Status readings(std::string_view sensor, Quantity quantity, Instant from, Instant to,
                  const ReadingVisitor& visit);
  /// What pumps reported of a bench, or of the whole `pump` (empty: none), the newest first.
  Result<std::vector<DoseRow>> doses(std::string_view bench, std::string_view pump,
                                     std::int64_t limit);
  /// Thinned readings of a sensor in [from, to), in order of hour.
  Status hourly(std::string_view sensor, Quantity quantity, Instant from, Instant to,
                const HourVisitor& visit);
  /// The store's own number of a sensor; none when it never reported.
  Result<std::optional<std::int64_t>> sensor_id(std::string_view name);
  Result<std::optional<std::string>> sensor_name(std::int64_t id);
  /// Not acknowledged yet, oldest first.
  Result<std::vector<Effect>> outbox_pending();
  /// What went to a topic, or is still to go there, the newest first.
  Status effects(std::string_view topic, const EffectVisitor& visit);
  /// What people are to be told of, or were and lasts. Needs notices/item.h at the caller.
  Result<std::vector<notices::Item>> notices();
  /// 1 in a new store.
  Result<std::int64_t> epoch();
  /// SQLite's check of the journal: seconds per ten million rows; for the background.
  Status check_journal();

  /// Marking twice, or an unknown id, changes nothing.
  Status mark_acknowledged(std::int64_t effect_id, Instant at);
  /// The new epoch; after a restore from backup.
  Result<std::int64_t> raise_epoch();
  /// Thins readings that were taken more than `raw_days` (at least 1) before `now` into hourly
  /// rows; contacts' words stay as they are. Cuts only at a kept snapshot that is itself that old,
  /// so the journal after it stays whole; drops effects acknowledged more than 30 days ago. Bounded
  /// work a call (some tens of milliseconds).
  Result<Retained> retain(Instant now, int raw_days);
  /// A whole, consistent copy while writes go on; `target` must not exist, and appears only when it
  /// is complete.
  Status backup_to(const std::filesystem::path& target, const BackupProgress& progress = {});

  bool healthy() const;
  /// Why not; none while healthy.
  std::optional<Error> trouble() const;
  /// Writes and removes a probe of 64 KiB and takes the log into the file; Done makes the store
  /// healthy again.
  Status try_recover();

  const std::filesystem::path& path() const { return path_; }

 private:
  friend class Transaction;
  explicit Store(std::filesystem::path path);
  /// Runs a read, or a whole small write in a transaction of its own, on its connection in its
  /// turn.
  template <class Work>
  auto read(Work&& work) -> std::invoke_result_t<Work&, Connection&>;
  template <class Work>
  auto write(Work&& work) -> std::invoke_result_t<Work&, Connection&>;
  /// Waits for the writer's turn; without Done the turn was not given.
  Status take_turn();
  /// A failure that is the world's fault, not the caller's, makes the store unhealthy.
  Error write_failed(const SQLite::Exception& thrown);
  void latch(const Error& why);

  std::filesystem::path path_;
  std::unique_ptr<WriterClaim> claim_;  ///< released after the connections are closed
  std::unique_ptr<Connection> writer_;  ///< null when opened to read
  std::unique_ptr<Connection> reader_;
  FairLock writing_;
  FairLock reading_;
  mutable std::mutex health_;
  std::optional<Error> trouble_;
};

}  // namespace plainwater::store
