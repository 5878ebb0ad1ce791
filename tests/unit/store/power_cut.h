// Shared by the tests of power cuts: a child process on the disk of power_disk.h, and a store's
// content.
#pragma once

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <string>
#include <vector>

#include "fault_table.h"
#include "fixture.h"
#include "power_disk.h"
#include "store/connection.h"
#include "store/journal_reads.h"

namespace plainwater::store {

/// A repeatable seed: PLAINWATER_SEED=… repeats the run that failed.
inline std::uint64_t first_seed() {
  const char* given = std::getenv("PLAINWATER_SEED");
  return given != nullptr ? std::strtoull(given, nullptr, 10) : 1000;
}

/// Ends a child's work; until_the_cut reports it, and the test fails.
struct Failed {
  Error error;
};
template <class T>
T got(Result<T> result) {
  if (!result) throw Failed{result.error()};
  return std::move(*result);
}

/// Reports to the parent that step i is done.
using ReportStep = std::function<void(int)>;

/// Runs `work` in a child whose power fails as planned, at the latest when it has finished. Returns
/// what it reported before that.
inline std::vector<int> until_the_cut(const std::filesystem::path& folder,
                                      const power_disk::Plan& plan,
                                      const std::function<void(const ReportStep&)>& work) {
  int ends[2];
  if (::pipe(ends) != 0) FAIL("no pipe");
  std::fflush(nullptr);
  const pid_t child = ::fork();
  if (child < 0) FAIL("no child");
  if (child == 0) {
    ::close(ends[0]);
    power_disk::begin(folder, plan);
    try {
      work([&](int step) {
        if (::write(ends[1], &step, sizeof step) != sizeof step) ::_exit(1);
      });
      power_disk::cut();
    } catch (const Failed& failed) {
      std::fprintf(stderr, "in the child: %s\n", failed.error.message().c_str());
    }
    ::_exit(2);
  }
  ::close(ends[1]);
  std::vector<int> reported;
  for (int step; ::read(ends[0], &step, sizeof step) == sizeof step;) reported.push_back(step);
  ::close(ends[0]);
  int how = 0;
  if (::waitpid(child, &how, 0) != child || !WIFEXITED(how) || WEXITSTATUS(how) != power_disk::kCut)
    FAIL("the child did not reach its power cut: status " << how << ", seed " << plan.seed);
  return reported;
}

/// A disk that never fails and syncs instantly, for the parent's own reads.
class NoDisk {
 public:
  explicit NoDisk(const std::filesystem::path& folder) { power_disk::begin(folder, {}); }
  ~NoDisk() { power_disk::end(); }
  NoDisk(const NoDisk&) = delete;
  NoDisk& operator=(const NoDisk&) = delete;
};

/// Every row of every table, except the probe's and the names that a store draws at random.
inline std::string content_of(const std::filesystem::path& path) {
  Connection connection(path, Connection::Access::read);
  std::string text;
  for (const char* query :
       {"SELECT * FROM meta WHERE key NOT LIKE 'store_id/%' AND key <> 'lineage' ORDER BY key",
        "SELECT * FROM sensors ORDER BY id", "SELECT * FROM journal ORDER BY seq",
        "SELECT * FROM ledger ORDER BY id", "SELECT * FROM nights ORDER BY bench, night",
        "SELECT * FROM snapshots ORDER BY journal_seq", "SELECT * FROM outbox ORDER BY id",
        "SELECT * FROM hourly ORDER BY sensor_id, quantity, hour"}) {
    SQLite::Statement rows(connection.database(), query);
    text += query;
    while (rows.executeStep()) {
      for (int i = 0; i < rows.getColumnCount(); ++i)
        text += (rows.getColumn(i).isNull() ? "NULL" : rows.getColumn(i).getString()) + "|";
      text += "\n";
    }
  }
  return text;
}

/// Why the store at `path` is not sound; empty when it is. Opens it as the service does.
inline std::string unsound(const std::filesystem::path& path, Durability durability) {
  const NoDisk fast(path.parent_path());
  auto store = Store::open(path, durability);
  if (!store) return "does not open: " + store.error().message();
  if (const auto sound = JournalReads(**store).check(); !sound) return sound.error().message();
  Connection connection(path, Connection::Access::read);
  if (const auto found = connection.database().execAndGet("PRAGMA integrity_check").getString();
      found != "ok")
    return "integrity_check: " + found;
  if (SQLite::Statement(connection.database(), "PRAGMA foreign_key_check").executeStep())
    return "a foreign key leads nowhere";
  return {};
}

}  // namespace plainwater::store
