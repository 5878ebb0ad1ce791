#include "store/store.h"

#include <sqlite3.h>

#include <algorithm>

#include "store/access.h"
#include "store/files.h"
#include "store/migrations.h"
#include "store/rows.h"
#include "store/writer_claim.h"

namespace plainwater::store {
namespace {

/// SQLite's check of one table and its indexes.
Status check_table(Connection& c, const char* table) {
  return c.guarded([&]() -> Status {
    const std::string found =
        c.database().execAndGet(std::string("PRAGMA integrity_check('") + table + "')").getString();
    if (found == "ok") return Done{};
    return Error{std::string("table ") + table + " is damaged: " + found, c.where(),
                 "stop the service, keep a copy of the file and restore the last backup with "
                 "plainwater restore"};
  });
}

Status make_ready(Connection& c, Durability durability) {
  const auto found = schema_of(c, migrations().back().number);
  if (!found) return found.error();
  const auto logged = c.guarded([&]() -> Status {
    // Step it to the end and then check: it reports "wal" before the disk has taken the change, and
    // without a log SQLite undoes the last commit after a power cut.
    c.execute("PRAGMA journal_mode = WAL");
    const std::string mode = c.database().execAndGet("PRAGMA journal_mode").getString();
    if (mode != "wal")
      return Error{"SQLite cannot keep a write-ahead log here (journal mode is " + mode + ")",
                   c.where(), "put the store on a local disk"};
    c.execute(durability == Durability::power ? "PRAGMA synchronous = FULL"
                                              : "PRAGMA synchronous = NORMAL");
    c.execute("PRAGMA cache_size = -8000");
    c.execute("PRAGMA journal_size_limit = 67108864");
    return Done{};
  });
  if (!logged) return logged;
  if (const auto migrated = migrate(c, migrations()); !migrated) return migrated;
  // Somebody else's trigger could do anything at any of our writes.
  if (const auto same = compare_schema(c, migrations()); !same) return same;
  // The journal grows to gigabytes; JournalReads::check() checks it in the background.
  for (const char* table : {"meta", "sensors", "ledger", "carried", "nights", "snapshots", "outbox",
                            "request_ids", "not_stored", "seals"})
    if (const auto sound = check_table(c, table); !sound) return sound;
  // SQLite syncs the folder after making its log but ignores failure: a log without a directory
  // entry would be gone after a power cut, with all that was committed to it.
  return sync_folder_of(c.where());
}

constexpr const char* kIdPrefix = "store_id/";  ///< prefix of keys in `meta`; the instance follows
constexpr const char* kLineage = "lineage";

std::int64_t drawn(Connection& c) { return c.number("SELECT random()"); }

std::optional<Identity> named(Connection& c, const std::string& key) {
  const auto id = find_meta(c, key.c_str()), lineage = find_meta(c, kLineage);
  if (!id || !lineage) return std::nullopt;
  return Identity{static_cast<std::uint64_t>(*id), static_cast<std::uint64_t>(*lineage)};
}

Status same_schema(Connection& c) {
  const int newest = migrations().back().number;
  const auto found = schema_of(c, newest);
  if (!found) return found.error();
  if (*found == newest) return Done{};
  return Error{"its schema is number " + std::to_string(*found) + ", older than this program's " +
                   std::to_string(newest),
               c.where(), "start the service once: it brings the store up to date"};
}

}  // namespace

Store::Store(std::filesystem::path path) : path_(std::move(path)) {}
Store::~Store() = default;

Result<std::unique_ptr<Store>> Store::open(const std::filesystem::path& path,
                                           Durability durability) {
  auto claim = WriterClaim::take(path);
  if (!claim) return claim.error();
  auto store = open(path, durability, **claim);
  if (store) (*store)->claim_ = std::move(*claim);
  return store;
}

Result<std::unique_ptr<Store>> Store::open(const std::filesystem::path& path, Durability durability,
                                           const WriterClaim&) {
  std::unique_ptr<Store> store(new Store(path));
  try {
    store->writer_ = std::make_unique<Connection>(path, Connection::Access::write);
    if (const auto ready = make_ready(*store->writer_, durability); !ready) return ready.error();
    store->writer_->watch_checkpoints();
    store->reader_ = std::make_unique<ReadSide>(path);
  } catch (const SQLite::Exception& thrown) { return failure(thrown, path.string()); }
  return store;
}

Result<std::unique_ptr<Store>> Store::open_to_read(const std::filesystem::path& path) {
  std::unique_ptr<Store> store(new Store(path));
  try {
    store->reader_ = std::make_unique<ReadSide>(path);
  } catch (const SQLite::Exception& thrown) { return failure(thrown, path.string()); }
  if (const auto same = same_schema(store->reader_->connection()); !same) return same.error();
  return store;
}

Status Store::take_turn() {
  if (!writer_) return Error{"the store is open for reading only", path_.string(), ""};
  if (writing_.held_by_this_thread())
    return Error{"this thread has a transaction open already", path_.string(),
                 "commit it before the next write"};
  writing_.lock();
  return Done{};
}

Result<Transaction> Store::begin() {
  if (auto turn = take_turn(); !turn) return turn.error();
  Transaction transaction(*this);  // releases the lock when anything below fails
  if (auto why = trouble()) return *why;
  const Status begun = transaction.attempt([](Connection& c) -> Status {
    Use(c, "BEGIN IMMEDIATE").run();
    return Done{};
  });
  if (!begun) return begun.error();
  return transaction;
}

Status Store::mark_acknowledged(std::int64_t effect_id, Instant at) {
  return write([&](Connection& c) -> Status {
    acknowledge_effect(c, effect_id, at);
    return Done{};
  });
}

Result<std::int64_t> Store::epoch() {
  return reader_->read([](Connection& c) -> Result<std::int64_t> { return meta(c, "epoch"); });
}

Result<std::int64_t> Store::raise_epoch(std::int64_t above) {
  return write([&](Connection& c) -> Result<std::int64_t> {
    const auto raised = std::max(meta(c, "epoch"), above) + 1;
    set_meta(c, "epoch", raised);
    return raised;
  });
}

Result<Identity> Store::identity(const std::string& instance) {
  const std::string key = kIdPrefix + instance;
  const auto known = reader_->read(
      [&](Connection& c) -> Result<std::optional<Identity>> { return named(c, key); });
  if (!known) return known.error();
  if (*known) return **known;
  return write([&](Connection& c) -> Result<Identity> {
    drop_meta(c, kIdPrefix);
    add_meta(c, key.c_str(), drawn(c));
    if (!find_meta(c, kLineage)) {
      const auto began = first_settings(c);
      add_meta(c, kLineage, began ? to_ms(*began) : drawn(c));
    }
    return named(c, key).value();
  });
}

Status Store::forget_identity() {
  return write([](Connection& c) -> Status {
    drop_meta(c, kIdPrefix);
    drop_meta(c, kLineage);
    add_meta(c, kLineage, drawn(c));
    return Done{};
  });
}

Result<Retained> Store::retain(Instant now, int raw_days) {
  if (raw_days < 1)
    return Error{"raw readings must be kept for at least one day", "store.raw_days",
                 "give a whole number of days from 1"};
  static constexpr Span kEffectsKept = 30 * kDay;
  return write([&](Connection& c) -> Result<Retained> {
    Retained done = thin_readings(c, now, raw_days * kDay);
    if (drop_old_effects(c, now - kEffectsKept, now)) done.more = true;
    return done;
  });
}

Result<bool> Store::seal() {
  static constexpr std::int64_t kRowsAtMost = 8192;
  const auto next = reader_->read(
      [](Connection& c) -> Result<std::optional<Seal>> { return next_seal(c, kRowsAtMost); });
  if (!next) return next.error();
  if (!*next) return false;
  return write([&](Connection& c) -> Result<bool> {
    // Another thread may have sealed these rows meanwhile.
    const auto last = last_seal(c);
    if (last && last->last_seq >= (*next)->last_seq) return true;
    write_seal(c, **next);
    return (*next)->readings + (*next)->others >= kRowsAtMost;
  });
}

std::optional<Error> Store::trouble() const {
  const std::lock_guard guard(health_);
  return trouble_;
}

bool Store::healthy() const { return !trouble().has_value(); }

Error Store::write_failed(const SQLite::Exception& thrown) {
  const Error why = failure(thrown, path_.string());
  const int code = thrown.getErrorCode() & 0xff;
  const bool callers_fault =
      code == SQLITE_CONSTRAINT || code == SQLITE_MISMATCH || code == SQLITE_TOOBIG;
  if (!callers_fault) latch(why);
  return why;
}

void Store::latch(const Error& why) {
  const std::lock_guard guard(health_);
  if (!trouble_) trouble_ = why;
}

Status Store::try_recover() {
  // Two commits: the first needs new space in the log and in the file, the second frees that space
  // for the journal.
  static constexpr const char* kProbe[] = {
      "REPLACE INTO probe (id, filler) VALUES (1, zeroblob(65536))", "DELETE FROM probe"};
  for (const char* step : kProbe) {
    if (auto turn = take_turn(); !turn) return turn;
    Transaction transaction(*this);
    const Status written = transaction.attempt([&](Connection& c) -> Status {
      Use(c, "BEGIN IMMEDIATE").run();
      Use(c, step).run();
      return Done{};
    });
    if (!written) return written;
    if (auto committed = transaction.commit(); !committed) return committed;
  }
  {
    // The file may have failed rather than the log.
    if (auto turn = take_turn(); !turn) return turn;
    Transaction transaction(*this);
    const Status taken_in = transaction.attempt([](Connection& c) -> Status {
      c.checkpoint();
      return Done{};
    });
    if (!taken_in) return taken_in;
  }
  const std::lock_guard guard(health_);
  trouble_.reset();
  return Done{};
}

}  // namespace plainwater::store
