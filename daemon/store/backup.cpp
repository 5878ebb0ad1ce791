// Backups and the long check: both read for seconds or minutes, so each has a connection of its own.
#include <SQLiteCpp/Backup.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "store/access.h"

namespace plainwater::store {
namespace {

namespace fs = std::filesystem;

constexpr int kPagesAStep = 256;  // 1 MiB between two reports of progress

Error failed(const fs::path& path, const std::string& what) {
  return Error{what, path.string(), "choose another file, in a folder that exists, has space and may be written"};
}

/// An empty file with the store's mode; what an interrupted backup left is overwritten.
Status make_file(const fs::path& path) {
  std::error_code problem;
  fs::remove(path, problem);
  if (problem) return failed(path, "cannot remove what an earlier backup left: " + problem.message());
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0640);
  if (file < 0) return failed(path, std::string("cannot make the backup file: ") + std::strerror(errno));
  ::close(file);
  return Done{};
}

Status copy_pages(Connection& from, const fs::path& to, const BackupProgress& progress) {
  // Open for the whole copy: every step then sees the same moment, however much is written meanwhile.
  SQLite::Transaction same_moment(from.database());
  from.number("SELECT COUNT(*) FROM sqlite_schema");
  SQLite::Database copy(to.string(), SQLite::OPEN_READWRITE);
  SQLite::Backup backup(copy, from.database());
  int code = SQLITE_OK;
  while (code == SQLITE_OK) {
    code = backup.executeStep(kPagesAStep);
    if (progress) progress(backup.getTotalPageCount() - backup.getRemainingPageCount(), backup.getTotalPageCount());
  }
  if (code != SQLITE_DONE) return failed(to, "another program holds the unfinished backup open");
  return Done{};
}

/// Makes a rename in this folder survive a power cut.
Status sync_folder(const fs::path& folder) {
  const int handle = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (handle < 0) return failed(folder, std::string("cannot open the folder: ") + std::strerror(errno));
  const int synced = ::fsync(handle);
  const int why = errno;
  ::close(handle);
  if (synced != 0) return failed(folder, std::string("cannot make the backup's name safe: ") + std::strerror(why));
  return Done{};
}

}  // namespace

Status Store::backup_to(const fs::path& target, const BackupProgress& progress) {
  if (fs::exists(fs::symlink_status(target))) return failed(target, "there is a file of this name already");
  fs::path part = target;
  part += ".part";
  if (auto made = make_file(part); !made) return made;
  Status copied = reader_->guarded([&]() -> Status {
    Connection from(path_, Connection::Access::read);
    return copy_pages(from, part, progress);
  });
  std::error_code problem;
  if (copied) {
    fs::rename(part, target, problem);
    if (problem) copied = failed(target, "cannot give the backup its name: " + problem.message());
  }
  if (!copied) {
    fs::remove(part, problem);
    return copied;
  }
  return sync_folder(target.has_parent_path() ? target.parent_path() : fs::path("."));
}

Status Store::check_journal() {
  return reader_->guarded([&]() -> Status {
    Connection own(path_, Connection::Access::read);
    for (const char* table : {"journal", "hourly"}) {
      const std::string found = own.database().execAndGet(std::string("PRAGMA integrity_check('") + table + "')").getString();
      if (found != "ok")
        return Error{std::string("table ") + table + " is damaged: " + found, path_.string(),
                     "stop the service, keep a copy of the file and restore the last backup with plainwater restore"};
    }
    return Done{};
  });
}

}  // namespace plainwater::store
