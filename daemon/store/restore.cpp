#include "store/restore.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <optional>

#include "store/client_keys.h"
#include "store/connection.h"
#include "store/files.h"
#include "store/journal_reads.h"
#include "store/migrations.h"
#include "store/rows.h"
#include "store/writer_claim.h"

namespace plainwater::store {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kStep = std::size_t{1} << 20;

Error no_backup(const fs::path& path, const std::string& what) {
  return Error{what, path.string(),
               "name a file that plainwater backup made; an older one, when this one is damaged"};
}

/// Why the file cannot be a backup, judged by its first bytes.
Status look_at(const fs::path& path) {
  std::error_code problem;
  if (!fs::is_regular_file(path, problem))
    return no_backup(path, problem ? problem.message() : "is no file");
  if (fs::file_size(beside(path, "-wal"), problem) > 0 && !problem)
    return no_backup(path, "a log lies beside it: this is a store in use, or a bare copy of one");
  std::array<char, 100> head{};
  std::ifstream file(path, std::ios::binary);
  if (!file) return no_backup(path, std::string("cannot be opened: ") + std::strerror(errno));
  if (!file.read(head.data(), head.size()) || std::memcmp(head.data(), "SQLite format 3", 16) != 0)
    return no_backup(path, "is no backup of a store");
  // SQLite's file format: the application id is big-endian at byte 68.
  std::uint32_t application = 0;
  for (std::size_t i = 68; i < 72; ++i)
    application = application << 8 | static_cast<unsigned char>(head.at(i));
  if (application != kApplicationId) return no_backup(path, "is another program's file");
  return Done{};
}

Status copy(const fs::path& from, const fs::path& to, const BackupProgress& progress) {
  if (auto made = make_file(to); !made) return made;
  std::ifstream in(from, std::ios::binary);
  std::ofstream out(to, std::ios::binary);
  std::error_code problem;
  const auto total = static_cast<int>(fs::file_size(from, problem) / kStep + 1);
  std::string buffer(kStep, '\0');
  for (int done = 1; in && out; ++done) {
    in.read(buffer.data(), static_cast<std::streamsize>(buffer.size()));
    out.write(buffer.data(), in.gcount());
    if (progress) progress(std::min(done, total), total);
  }
  const bool whole = in.eof() && !in.bad();
  if (out) out.close();
  if (!out) return file_failure(to, std::string("cannot be written: ") + std::strerror(errno));
  if (!whole) return no_backup(from, "cannot be read whole");
  return Done{};
}

/// Owner and mode of the previous store, or the folder's owner: after a restore by root the service
/// must be able to write the store.
void give_to_owner(const fs::path& copy, const fs::path& target) {
  struct stat facts{};
  const bool exists = ::stat(target.c_str(), &facts) == 0;
  if (!exists && ::stat(target.has_parent_path() ? target.parent_path().c_str() : ".", &facts) != 0)
    return;
  // Only root can change the owner; for anybody else it is already right.
  [[maybe_unused]] const int given = ::chown(copy.c_str(), facts.st_uid, facts.st_gid);
  [[maybe_unused]] const int changed = ::chmod(copy.c_str(), exists ? facts.st_mode & 07777 : 0640);
}

/// Facts about the store that is to be replaced; empty when it cannot be read, which may be why it
/// is replaced.
struct Before {
  std::int64_t epoch = 0;
  ClientKeyring::Rows keys{};
};

Before look_back(const fs::path& path) {
  try {
    // Opened for writing, because only such a connection removes SQLite's side files when it
    // closes.
    Connection connection(path, Connection::Access::write);
    return {meta(connection, "epoch"), ClientKeyring::rows(connection)};
  } catch (const SQLite::Exception&) { return {}; }
}

/// Checks the copy, migrates it, and lets the caller write into it.
Result<std::int64_t> make_ready(const fs::path& copy, const Before& before, bool beside,
                                const Prepare& prepare) {
  auto store = Store::open(copy, Durability::power);
  if (!store) return store.error();
  if (auto sound = JournalReads(**store).check(); !sound) return sound.error();
  const auto epoch = beside ? (*store)->epoch() : (*store)->raise_epoch(before.epoch);
  if (!epoch) return epoch.error();
  if (!beside)
    if (auto done = (*store)->forget_identity(); !done) return done.error();
  if (auto done = ClientKeyring(**store).make_former(before.keys); !done) return done.error();
  if (auto done = prepare(**store); !done) return done.error();
  return epoch;
}

/// Undoes `keep`, even when the new store already has the name: it must give up the name before the
/// old log comes back.
void put_back(const fs::path& target, const fs::path& kept) {
  std::error_code problem;
  if (fs::equivalent(target, kept, problem))
    fs::remove(kept, problem);
  else
    fs::rename(kept, target, problem);
  for (const char* suffix : {"-wal", "-shm"})
    if (fs::exists(beside(kept, suffix), problem))
      fs::rename(beside(kept, suffix), beside(target, suffix), problem);
}

/// Gives the existing store and its log a second name: SQLite would read an old log into the new
/// store.
Status keep(const fs::path& target, const fs::path& kept) {
  try {
    Connection connection(target, Connection::Access::write);
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)");
  } catch (const SQLite::Exception&) {}  // damaged: then the log is kept as it is
  std::error_code problem;
  fs::create_hard_link(target, kept, problem);
  if (problem)
    return file_failure(kept, "cannot keep the store that is there: " + problem.message());
  for (const char* suffix : {"-wal", "-shm"}) {
    if (!fs::exists(beside(target, suffix))) continue;
    fs::rename(beside(target, suffix), beside(kept, suffix), problem);
    if (problem) {
      put_back(target, kept);
      return file_failure(beside(kept, suffix),
                          "cannot keep the log of the store that is there: " + problem.message());
    }
  }
  // Before the new store gets the name: after a power cut it must not find the old log beside it.
  Status synced = sync_folder_of(target);
  if (!synced) put_back(target, kept);
  return synced;
}

/// Gives the copy the store's name.
Status put_in_place(const fs::path& copy, const fs::path& target, bool exists) {
  if (auto synced = sync_file(copy); !synced) return synced;
  std::error_code problem;
  if (exists) {
    fs::rename(copy, target, problem);
  } else {
    // Unlike a rename, a link never replaces what a service may have made there meanwhile.
    fs::create_hard_link(copy, target, problem);
    if (!problem) fs::remove(copy, problem);
  }
  if (problem)
    return file_failure(target, "cannot give the restored store its name: " + problem.message());
  Status synced = sync_folder_of(target);
  if (!synced && !exists) fs::remove(target, problem);
  return synced;
}

void clear_away(const fs::path& copy) {
  std::error_code problem;
  fs::remove(copy, problem);
  for (const char* suffix : {"-wal", "-shm"}) fs::remove(beside(copy, suffix), problem);
}

/// Turns an error about the copy into one about the backup: the copy is gone when a person reads
/// it, and no service uses it.
Error as_backup_error(Error error, const RestorePlan& plan, const fs::path& copy) {
  if (error.where != copy.string()) return error;
  for (const char* advice : {"plainwater restore", "store.path"})
    if (error.remedy.find(advice) != std::string::npos) return no_backup(plan.backup, error.what);
  error.where = plan.backup.string();
  return error;
}

}  // namespace

Result<Restored> restore(const RestorePlan& plan, const Prepare& prepare,
                         const BackupProgress& progress) {
  std::error_code problem;
  // If the store's path is a link, it stays a link.
  const fs::path target =
      fs::exists(plan.target, problem) ? fs::canonical(plan.target, problem) : plan.target;
  if (problem) return file_failure(plan.target, problem.message());
  const bool exists = fs::exists(target);
  if (exists && fs::equivalent(plan.backup, target, problem))
    return no_backup(plan.backup, "this is the store itself");
  std::unique_ptr<WriterClaim>
      claim;  // keeps services from starting with the old store, or with one made in its place
  if (exists) {
    auto taken = WriterClaim::take(target);
    if (!taken) return taken.error();
    claim = std::move(*taken);
    if (plan.kept.empty())
      return Error{"there is a store already", target.string(),
                   "add --replace; the store is kept under another name"};
    if (plan.look)
      if (auto fits = plan.look(target); !fits) return fits.error();
  } else if (fs::exists(beside(target, "-wal"))) {
    return file_failure(beside(target, "-wal"),
                        "the log of a store that is gone lies here; move it away first");
  }
  if (auto fit = look_at(plan.backup); !fit) return fit.error();

  const fs::path copied = beside(target, ".restoring");
  clear_away(copied);
  const auto fail = [&](const Error& error) {
    clear_away(copied);
    return as_backup_error(error, plan, copied);
  };
  if (auto done = copy(plan.backup, copied, progress); !done) return fail(done.error());
  give_to_owner(copied, target);
  const auto epoch =
      make_ready(copied, exists ? look_back(target) : Before{}, plan.beside, prepare);
  if (!epoch) return fail(epoch.error());
  if (fs::exists(beside(copied, "-wal")))
    return fail(
        file_failure(beside(copied, "-wal"), "another program holds the unfinished store open"));
  if (fs::exists(plan.kept))
    return fail(file_failure(plan.kept, "there is a file of this name already"));
  // Nor may a service start with the new store before it would survive a power cut.
  const auto claim_of_new = WriterClaim::take(copied);
  if (!claim_of_new) return fail(claim_of_new.error());
  if (exists)
    if (auto done = keep(target, plan.kept); !done) return fail(done.error());
  if (auto placed = put_in_place(copied, target, exists); !placed) {
    if (exists) put_back(target, plan.kept);
    return fail(placed.error());
  }
  return Restored{*epoch, exists};
}

}  // namespace plainwater::store
