#include "store/rows.h"

namespace plainwater::store {

std::int64_t meta(Connection& c, const char* key) {
  Use use(c, "SELECT value FROM meta WHERE key = ?1");
  if (!use.with(key).next())
    throw SQLite::Exception(std::string("the table meta has no row \"") + key + "\"");
  return use.integer(0);
}

void set_meta(Connection& c, const char* key, std::int64_t value) {
  Use(c, "UPDATE meta SET value = ?2 WHERE key = ?1").with(key, value).run();
}

std::optional<std::int64_t> find_meta(Connection& c, const char* key) {
  Use use(c, "SELECT value FROM meta WHERE key = ?1");
  return use.with(key).next() ? std::optional(use.integer(0)) : std::nullopt;
}

void add_meta(Connection& c, const char* key, std::int64_t value) {
  Use(c, "INSERT INTO meta (key, value) VALUES (?1, ?2)").with(key, value).run();
}

void drop_meta(Connection& c, const char* prefix) {
  Use(c, "DELETE FROM meta WHERE substr(key, 1, length(?1)) = ?1").with(prefix).run();
}

}  // namespace plainwater::store
