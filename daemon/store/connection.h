// One SQLite connection with its cached statements. SQLite's exceptions end here: whatever the
// world can make fail runs inside guarded(), which returns an Error instead.
#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <unordered_map>
#include <utility>

#include "common/instant.h"
#include "common/result.h"

namespace plainwater::store {

/// SQLite's error in a grower's words, with what to do about it.
Error failure(const SQLite::Exception& thrown, const std::string& where);

class Connection {
 public:
  enum class Access { write, read };
  /// Throws SQLite::Exception. The file must exist.
  Connection(const std::filesystem::path& path, Access access);

  const std::string& where() const { return where_; }
  /// Cached for the connection's life. `sql` must be a literal: its address is the key.
  SQLite::Statement& kept(const char* sql);
  /// Statements without a result, not cached.
  void execute(const std::string& sql) { database_.exec(sql); }
  /// First column of the first row; 0 when NULL.
  std::int64_t number(const std::string& sql) { return database_.execAndGet(sql).getInt64(); }
  /// Rolls back an open transaction, if any; SQLite may have ended it after a failure.
  void roll_back() noexcept;
  SQLite::Database& database() { return database_; }
  /// From now on the log is checkpointed every thousand pages, as SQLite would do, but a failure is
  /// remembered.
  void watch_checkpoints();
  /// Checkpoints the log as far as readers allow it.
  void checkpoint();
  /// Why checkpointing has failed since the last call; SQLite does not report it.
  std::optional<Error> checkpoint_failure() {
    return std::exchange(checkpoint_failure_, std::nullopt);
  }

  /// The sensor's id in the file; known ones come from memory.
  std::optional<std::int64_t> known_sensor(std::string_view name);
  /// The same, adding a new sensor to the file.
  std::int64_t sensor(const std::string& name);

  /// Runs `work`, which returns a Result.
  template <class Work>
  auto guarded(Work&& work) const -> std::invoke_result_t<Work&> {
    try {
      return work();
    } catch (const SQLite::Exception& thrown) { return failure(thrown, where_); }
  }

 private:
  std::string where_;
  SQLite::Database database_;
  std::unordered_map<const char*, std::unique_ptr<SQLite::Statement>> statements_;
  std::unordered_map<std::string, std::int64_t> sensors_;
  std::optional<Error> checkpoint_failure_;
};

/// One use of a cached statement. Resets it at the end, because an open statement holds a read
/// transaction.
class Use {
 public:
  Use(Connection& connection, const char* sql) : statement_(connection.kept(sql)) {}
  ~Use();
  Use(const Use&) = delete;
  Use& operator=(const Use&) = delete;

  /// Binds the parameters ?1, ?2 … in order. Texts and blobs are not copied: they must outlive the
  /// use.
  template <class... Values>
  Use& with(const Values&... values) {
    int at = 0;
    (bind(++at, values), ...);
    return *this;
  }
  bool next() { return statement_.executeStep(); }
  /// Number of rows changed.
  int run() { return statement_.exec(); }

  std::int64_t integer(int column) const { return statement_.getColumn(column).getInt64(); }
  int small(int column) const { return statement_.getColumn(column).getInt(); }
  Instant instant(int column) const { return from_ms(integer(column)); }
  bool null(int column) const { return statement_.getColumn(column).isNull(); }
  /// NaN when NULL.
  double real(int column) const;
  std::string text(int column) const { return statement_.getColumn(column).getString(); }

 private:
  struct Blob {
    std::string_view bytes;
  };
  friend Blob blob(std::string_view bytes);

  void bind(int at, std::int64_t value) { statement_.bind(at, value); }
  void bind(int at, int value) { statement_.bind(at, static_cast<std::int32_t>(value)); }
  void bind(int at, bool value) { statement_.bind(at, value ? 1 : 0); }
  void bind(int at, Instant value) { statement_.bind(at, to_ms(value)); }
  void bind(int at, double value) { statement_.bind(at, value); }  // SQLite stores NaN as NULL
  void bind(int at, const std::string& value) { statement_.bindNoCopy(at, value); }
  void bind(int at, const char* value) { statement_.bindNoCopy(at, value); }
  void bind(int at, std::nullopt_t) { statement_.bind(at); }
  void bind(int at, Blob value) {
    statement_.bindNoCopy(at, value.bytes.data(), static_cast<int>(value.bytes.size()));
  }
  template <class T>
  void bind(int at, const std::optional<T>& value) {
    if (value)
      bind(at, *value);
    else
      statement_.bind(at);
  }

  SQLite::Statement& statement_;
};

/// Marks bytes as a blob.
inline Use::Blob blob(std::string_view bytes) { return {bytes}; }

}  // namespace plainwater::store
