#include "store/migrations.h"

#include <map>

#include "store/connection.h"

namespace plainwater::store {
namespace {

/// "trigger ledger_is_kept" -> its SQL. SQLite's own objects are left out.
std::map<std::string, std::string> objects_of(SQLite::Database& database) {
  std::map<std::string, std::string> found;
  SQLite::Statement all(database,
                        "SELECT type || ' ' || name, sql FROM sqlite_schema WHERE sql IS NOT NULL "
                        "AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'");
  while (all.executeStep())
    found.emplace(all.getColumn(0).getString(), all.getColumn(1).getString());
  return found;
}

}  // namespace

Result<int> schema_of(Connection& connection, int newest) {
  return connection.guarded([&]() -> Result<int> {
    const auto application = connection.number("PRAGMA application_id");
    const auto schema = static_cast<int>(connection.number("PRAGMA user_version"));
    if (application == 0 && schema == 0 &&
        connection.number("SELECT COUNT(*) FROM sqlite_schema") == 0)
      return 0;
    if (application != kApplicationId)
      return Error{"this SQLite file belongs to another program", connection.where(),
                   "give store.path a file of its own"};
    if (schema > newest)
      return Error{
          "its schema is number " + std::to_string(schema) + ", this program knows up to " +
              std::to_string(newest),
          connection.where(),
          "install the newer plainwater again, or restore a backup made before the upgrade"};
    return schema;
  });
}

Status migrate(Connection& connection, const std::vector<Migration>& all) {
  const auto found = schema_of(connection, all.empty() ? 0 : all.back().number);
  if (!found) return found.error();
  for (const Migration& migration : all) {
    if (migration.number <= *found) continue;
    const auto applied = connection.guarded([&]() -> Status {
      connection.execute("BEGIN IMMEDIATE");
      connection.execute("PRAGMA application_id = " + std::to_string(kApplicationId));
      connection.execute(migration.sql);
      connection.execute("PRAGMA user_version = " + std::to_string(migration.number));
      connection.execute("COMMIT");
      return Done{};
    });
    if (applied) continue;
    connection.roll_back();
    Error error = applied.error();
    error.what =
        "schema change " + std::string(migration.name) + " failed and was undone: " + error.what;
    return error;
  }
  return Done{};
}

Status compare_schema(Connection& connection, const std::vector<Migration>& all) {
  static constexpr const char* kRemedy =
      "somebody changed the file by hand: undo that, or restore the last backup with plainwater "
      "restore";
  return connection.guarded([&]() -> Status {
    SQLite::Database fresh(":memory:", SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
    for (const Migration& migration : all) fresh.exec(migration.sql);
    const auto wanted = objects_of(fresh), found = objects_of(connection.database());
    for (const auto& [name, sql] : wanted) {
      const auto here = found.find(name);
      if (here == found.end())
        return Error{"the " + name + " is missing", connection.where(), kRemedy};
      if (here->second != sql)
        return Error{"the " + name + " is not as this program makes it", connection.where(),
                     kRemedy};
    }
    for (const auto& [name, sql] : found)
      if (!wanted.contains(name))
        return Error{"the " + name + " is none of this program's", connection.where(), kRemedy};
    return Done{};
  });
}

}  // namespace plainwater::store
