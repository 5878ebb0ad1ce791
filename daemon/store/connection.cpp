#include "store/connection.h"

#include <sqlite3.h>

#include <limits>

namespace plainwater::store {
namespace {

/// Only a second writer (a backup being restored, a person with the sqlite3 shell) can make us wait
/// at all.
constexpr int kBusyMs = 5000;
constexpr int kPagesInLog = 1000;

int flags_of(Connection::Access access) {
  return (access == Connection::Access::write ? SQLite::OPEN_READWRITE : SQLite::OPEN_READONLY) |
         SQLite::OPEN_NOMUTEX;
}

std::string remedy(int code) {
  switch (code & 0xff) {
    case SQLITE_FULL: return "free space on this file system; the service then goes on";
    // Also returned when a file system became read-only while in use.
    case SQLITE_IOERR:
      return "look for disk errors, free space, and whether it is still mounted for writing "
             "(dmesg, df, mount); the service tries again";
    case SQLITE_READONLY:
      return "let the service's user write the file and its folder, and see that the file system "
             "is mounted for writing";
    case SQLITE_CANTOPEN:
      return "see that the folder exists and that the service's user may read and write it";
    case SQLITE_BUSY:
    case SQLITE_LOCKED: return "end the other program that holds the file";
    case SQLITE_CORRUPT:
      return "the file is damaged: stop the service and restore the last backup with plainwater "
             "restore";
    case SQLITE_NOTADB: return "this is no SQLite file: give store.path a file of its own";
    default: return "";
  }
}

}  // namespace

Error failure(const SQLite::Exception& thrown, const std::string& where) {
  std::string what = thrown.what();
  if (thrown.getExtendedErrorCode() > 0)
    what += " (SQLite code " + std::to_string(thrown.getExtendedErrorCode()) + ")";
  return Error{what, where, remedy(thrown.getErrorCode())};
}

Connection::Connection(const std::filesystem::path& path, Access access)
    : where_(path.string()), database_(where_, flags_of(access), kBusyMs) {
  execute("PRAGMA foreign_keys = ON");
  execute("PRAGMA trusted_schema = OFF");
}

SQLite::Statement& Connection::kept(const char* sql) {
  auto& statement = statements_[sql];
  if (!statement) statement = std::make_unique<SQLite::Statement>(database_, sql);
  return *statement;
}

void Connection::roll_back() noexcept {
  sensors_.clear();  // an id from the lost transaction is not in the file
  if (sqlite3_get_autocommit(database_.getHandle()) == 0) database_.tryExec("ROLLBACK");
}

void Connection::checkpoint() {
  const int code = sqlite3_wal_checkpoint_v2(database_.getHandle(), nullptr,
                                             SQLITE_CHECKPOINT_PASSIVE, nullptr, nullptr);
  if (code != SQLITE_OK && code != SQLITE_BUSY && code != SQLITE_LOCKED)
    throw SQLite::Exception(database_.getHandle(), code);
}

void Connection::watch_checkpoints() {
  const auto after_commit = [](void* own, sqlite3*, const char*, int pages) {
    auto& connection = *static_cast<Connection*>(own);
    if (pages < kPagesInLog) return SQLITE_OK;
    try {
      connection.checkpoint();
    } catch (const SQLite::Exception& thrown) {
      connection.checkpoint_failure_ = failure(thrown, connection.where_);
    }
    return SQLITE_OK;  // the commit is safe all the same
  };
  sqlite3_wal_hook(database_.getHandle(), after_commit, this);
}

std::optional<std::int64_t> Connection::known_sensor(std::string_view name) {
  std::string key(name);
  if (const auto found = sensors_.find(key); found != sensors_.end()) return found->second;
  Use use(*this, "SELECT id FROM sensors WHERE name = ?1");
  if (!use.with(key).next()) return std::nullopt;
  const auto id = use.integer(0);
  sensors_.emplace(std::move(key), id);
  return id;
}

std::int64_t Connection::sensor(const std::string& name) {
  if (const auto known = known_sensor(name)) return *known;
  Use(*this, "INSERT INTO sensors (name) VALUES (?1)").with(name).run();
  const auto id = database_.getLastInsertRowid();
  sensors_.emplace(name, id);
  return id;
}

Use::~Use() {
  // The step has thrown its own failure; reset only repeats it.
  statement_.tryReset();
  statement_.clearBindings();
}

double Use::real(int column) const {
  return null(column) ? std::numeric_limits<double>::quiet_NaN()
                      : statement_.getColumn(column).getDouble();
}

}  // namespace plainwater::store
