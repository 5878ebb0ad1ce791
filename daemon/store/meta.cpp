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

}  // namespace plainwater::store
