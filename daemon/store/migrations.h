// Numbered schema changes, embedded from sql/ at build time. The file's user_version holds the
// number of the last one applied.
#pragma once

#include <string>
#include <vector>

#include "common/result.h"

namespace plainwater::store {

class Connection;

struct Migration {
  int number;        ///< 1, 2, 3 … without gaps
  const char* name;  ///< file name, for messages
  const char* sql;
};

/// The migrations of this binary, in order.
const std::vector<Migration>& migrations();

/// Marks a file as ours ("PWtr"), so that we never write to another program's SQLite file.
inline constexpr int kApplicationId = 0x50577472;

/// Examines the file at the path without writing: returns the schema number of one of our stores, 0
/// for an empty file, or an Error for another program's file or a schema newer than `newest`.
Result<int> schema_of(Connection& connection, int newest);
/// Applies missing migrations, each in its own transaction.
Status migrate(Connection& connection, const std::vector<Migration>& all);
/// Checks that tables, indexes and triggers are exactly those that these migrations make, and no
/// others.
Status compare_schema(Connection& connection, const std::vector<Migration>& all);

}  // namespace plainwater::store
