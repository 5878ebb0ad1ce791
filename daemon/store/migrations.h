// Numbered changes of the schema, embedded at build time from sql/. The file's user_version says
// how far it is.
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

/// Those of this binary, in order.
const std::vector<Migration>& migrations();

/// Marks a file as ours ("PWtr"), so that another program's SQLite file is not written to by
/// mistake.
inline constexpr int kApplicationId = 0x50577472;

/// What is at the path: ours of some schema, an empty file, or an Error for a file of another
/// program or a schema newer than `newest`. Writes nothing. Gives the schema's number, 0 for an
/// empty file.
Result<int> schema_of(Connection& connection, int newest);
/// Applies what is missing, each migration in a transaction of its own.
Status migrate(Connection& connection, const std::vector<Migration>& all);
/// Tables, indexes and triggers are those that these migrations make, to the letter, and no others.
Status compare_schema(Connection& connection, const std::vector<Migration>& all);

}  // namespace plainwater::store
