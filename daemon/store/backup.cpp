// A backup reads for seconds or minutes, so it has a connection of its own.
#include <SQLiteCpp/Backup.h>
#include <sqlite3.h>

#include "store/access.h"
#include "store/files.h"

namespace plainwater::store {
namespace {

namespace fs = std::filesystem;

constexpr int kPagesAStep = 256;  // 1 MiB between two progress reports

Status copy_into(SQLite::Database& copy, Connection& from, const fs::path& to,
                 const BackupProgress& progress) {
  SQLite::Backup backup(copy, from.database());
  int code = SQLITE_OK;
  while (code == SQLITE_OK) {
    code = backup.executeStep(kPagesAStep);
    if (progress)
      progress(backup.getTotalPageCount() - backup.getRemainingPageCount(),
               backup.getTotalPageCount());
  }
  if (code != SQLITE_DONE)
    return file_failure(to, "another program holds the unfinished backup open");
  return Done{};
}

Status copy_pages(Connection& from, const fs::path& to, const BackupProgress& progress) {
  // Open for the whole copy: every step then sees the same moment, however much is written
  // meanwhile.
  SQLite::Transaction same_moment(from.database());
  from.number("SELECT COUNT(*) FROM sqlite_schema");
  SQLite::Database copy(to.string(), SQLite::OPEN_READWRITE);
  if (auto done = copy_into(copy, from, to, progress); !done) return done;
  // Whoever reads the backup then leaves no file beside it; a store that it becomes sets its own.
  copy.exec("PRAGMA journal_mode = DELETE");
  return Done{};
}

}  // namespace

Status Store::backup_to(const fs::path& target, const BackupProgress& progress) {
  if (fs::exists(fs::symlink_status(target)))
    return file_failure(target, "there is a file of this name already");
  fs::path part = target;
  part += ".part";
  if (auto made = make_file(part); !made) return made;
  Status copied = reader_->read_apart(
      [&](Connection& from) -> Status { return copy_pages(from, part, progress); });
  std::error_code problem;
  if (copied) {
    fs::rename(part, target, problem);
    if (problem)
      copied = file_failure(target, "cannot give the backup its name: " + problem.message());
  }
  if (!copied) {
    fs::remove(part, problem);
    return copied;
  }
  return sync_folder_of(target);
}

}  // namespace plainwater::store
