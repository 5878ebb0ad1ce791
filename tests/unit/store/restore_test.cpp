#include "store/restore.h"

#include <sys/stat.h>

#include <fstream>

#include "fixture.h"
#include "no_preparation.h"
#include "store/connection.h"
#include "store/files.h"
#include "store/writer_claim.h"

namespace plainwater::store {
namespace {

namespace fs = std::filesystem;
using Catch::Contains;

std::string bytes_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

std::size_t files_in(const fs::path& folder) {
  std::size_t count = 0;
  for ([[maybe_unused]] const auto& entry : fs::directory_iterator(folder)) ++count;
  return count;
}

/// A store of `rows` readings at s.db and its backup at backup.db; both closed.
void make(const Folder& folder, int rows = 3) {
  auto store = opened(folder / "s.db");
  for (int i = 0; i < rows; ++i) append(*store, reading("air", kStart + seconds(i), i));
  must(store->backup_to(folder / "backup.db"));
}

/// SQLite can neither open nor remove a log that is a folder.
void make_log_unreadable(const fs::path& store) {
  fs::remove(beside(store, "-wal"));
  fs::create_directory(beside(store, "-wal"));
}

RestorePlan plan(const Folder& folder, bool replace) {
  return {folder / "backup.db", folder / "s.db", replace ? folder / "s.db.before" : fs::path()};
}

}  // namespace

TEST_CASE("a backup with a foreign trigger, or without an index of ours, is refused") {
  const std::pair<const char*, const char*> changes[] = {
      {"CREATE TRIGGER quiet AFTER INSERT ON ledger BEGIN DELETE FROM outbox; END",
       "trigger quiet is none of this program's"},
      {"CREATE TABLE notes (text TEXT)", "table notes is none of this program's"},
      {"DROP INDEX journal_reading", "index journal_reading is missing"},
      {"DROP TRIGGER ledger_is_final", "trigger ledger_is_final is missing"},
      {"DROP INDEX ledger_bench; CREATE INDEX ledger_bench ON ledger (id)",
       "index ledger_bench is not as this program makes it"}};
  for (const auto& [change, says] : changes) {
    const Folder folder;
    make(folder);
    fs::remove(folder / "s.db");
    SQLite::Database((folder / "backup.db").string(), SQLite::OPEN_READWRITE).exec(change);
    const auto done = restore(plan(folder, false), kNothing);
    INFO(change);
    REQUIRE_FALSE(done);
    CHECK_THAT(done.error().message(), Contains(says));
    CHECK_FALSE(fs::exists(folder / "s.db"));
  }
}

TEST_CASE("a backup becomes a store where there was none") {
  const Folder folder;
  make(folder);
  fs::remove(folder / "s.db");
  const std::string backup = bytes_of(folder / "backup.db");
  int last = 0, total = -1;
  const auto done = must(restore(
      plan(folder, false),
      [](Store& copy) -> Status {
        append(copy, other(JournalKind::request, kStart + kDay, "disarm"));
        return Done{};
      },
      [&](int d, int t) { last = d, total = t; }));
  CHECK(done.epoch == 2);
  CHECK_FALSE(done.replaced);
  CHECK(last == total);
  CHECK(files_in(folder / ".") == 2);
  CHECK(bytes_of(folder / "backup.db") == backup);
  struct stat facts{};
  REQUIRE(::stat((folder / "s.db").c_str(), &facts) == 0);
  CHECK((facts.st_mode & 0777) == 0640);

  auto store = opened(folder / "s.db");
  CHECK(must(store->epoch()) == 2);
  REQUIRE(journal(*store).size() == 4);
  CHECK(journal(*store).back().second.body == "disarm");
  CHECK_FALSE(append(*store, reading("air", kStart, 0)).is_new);
}

TEST_CASE("an existing store is replaced only on request, and kept whole") {
  const Folder folder;
  make(folder);
  append(*opened(folder / "s.db"), reading("air", kStart + hours(1), 9));
  fs::permissions(folder / "s.db", fs::perms(0600));

  const auto refused = restore(plan(folder, false), kNothing);
  REQUIRE_FALSE(refused);
  CHECK_THAT(refused.error().message(), Contains("already") && Contains("--replace"));
  CHECK(journal(*opened(folder / "s.db")).size() == 4);

  const auto done = must(restore(plan(folder, true), kNothing));
  CHECK(done.replaced);
  CHECK(journal(*opened(folder / "s.db")).size() == 3);
  CHECK(journal(*opened(folder / "s.db.before")).size() == 4);
  CHECK(must(opened(folder / "s.db.before")->epoch()) == 1);
  CHECK(fs::status(folder / "s.db").permissions() == fs::perms(0600));
  CHECK(files_in(folder / ".") == 3);
}

TEST_CASE("an epoch far ahead is passed in one step") {
  const Folder folder;
  make(folder);
  must(opened(folder / "s.db")->raise_epoch(999'000));
  CHECK(must(restore(plan(folder, true), kNothing)).epoch == 999'002);
}

TEST_CASE("a restored store has a new id and lineage") {
  const Folder folder;
  make(folder);
  const auto before = must(opened(folder / "backup.db")->identity("main"));
  must(restore(plan(folder, true), kNothing));
  const auto after = must(opened(folder / "s.db")->identity("main"));
  CHECK(after.id != before.id);
  CHECK(after.lineage != before.lineage);
}

TEST_CASE("the epoch passes the backup's and the old store's") {
  const Folder folder;
  make(folder);
  for (int i = 0; i < 4; ++i) must(opened(folder / "s.db")->raise_epoch());
  CHECK(must(restore(plan(folder, true), kNothing)).epoch == 6);
  CHECK(must(opened(folder / "s.db")->epoch()) == 6);
}

TEST_CASE("a log left by a killed service goes with the old store, never into the new one") {
  const Folder folder;
  make(folder);
  fs::create_directory(folder / "live");
  {
    // Files as after a kill: copied while a connection has rows only in the log.
    auto store = opened(folder / "s.db");
    for (int i = 0; i < 50; ++i) append(*store, reading("late", kStart + seconds(i), i));
    for (const char* suffix : {"", "-wal"})
      fs::copy_file(beside(folder / "s.db", suffix), beside(folder / "live/s.db", suffix));
  }
  REQUIRE(fs::file_size(folder / "live/s.db-wal") > 0);
  const bool damaged = GENERATE(false, true);
  const std::string before = bytes_of(folder / "live/s.db");
  if (damaged) make_log_unreadable(folder / "live/s.db");
  const RestorePlan wanted{folder / "backup.db", folder / "live/s.db", folder / "live/s.db.before"};
  const auto done = must(restore(wanted, kNothing));
  CHECK(done.epoch == 2);
  CHECK(journal(*opened(folder / "live/s.db")).size() == 3);
  CHECK_FALSE(fs::exists(folder / "live/s.db-wal"));
  if (damaged) {
    CHECK(fs::is_directory(folder / "live/s.db.before-wal"));
    CHECK(bytes_of(folder / "live/s.db.before") == before);
  } else {
    CHECK(journal(*opened(folder / "live/s.db.before")).size() == 53);
  }
}

TEST_CASE("when the copy cannot get its name, store and log are put back") {
  const Folder folder;
  make(folder);
  const std::string before = bytes_of(folder / "s.db");
  make_log_unreadable(folder / "s.db");
  const auto failed = restore(plan(folder, true), [&](Store&) -> Status {
    fs::rename(folder / "s.db.restoring", folder / "elsewhere.db");
    return Done{};
  });
  REQUIRE_FALSE(failed);
  CHECK(bytes_of(folder / "s.db") == before);
  CHECK(fs::is_directory(folder / "s.db-wal"));
  CHECK_FALSE(fs::exists(folder / "s.db.before"));
  CHECK_FALSE(fs::exists(folder / "s.db.before-wal"));
}

TEST_CASE("a store that a service holds is not touched") {
  const Folder folder;
  make(folder);
  auto store = opened(folder / "s.db");
  const auto refused = restore(plan(folder, true), kNothing);
  REQUIRE_FALSE(refused);
  CHECK_THAT(refused.error().message(), Contains("another plainwater service"));
  CHECK(append(*store, reading("air", kStart + hours(1), 1)).is_new);
  CHECK_FALSE(fs::exists(folder / "s.db.before"));
  CHECK_FALSE(fs::exists(folder / "s.db.restoring"));
}

TEST_CASE("no service can start with the store while it is being replaced") {
  const Folder folder;
  make(folder);
  bool refused = false;
  must(restore(plan(folder, true), [&](Store&) -> Status {
    refused = !WriterClaim::take(folder / "s.db");
    return Done{};
  }));
  CHECK(refused);
  CHECK(WriterClaim::take(folder / "s.db"));
}

TEST_CASE("a store made meanwhile by a service is not overwritten") {
  const Folder folder;
  make(folder);
  fs::remove(folder / "s.db");
  const auto lost = restore(plan(folder, false), [&](Store&) -> Status {
    append(*opened(folder / "s.db"), reading("new", kStart, 1));
    return Done{};
  });
  REQUIRE_FALSE(lost);
  CHECK_THAT(lost.error().message(), Contains("s.db") && Contains("exists"));
  CHECK(journal(*opened(folder / "s.db")).size() == 1);
  CHECK_FALSE(fs::exists(folder / "s.db.restoring"));
}

TEST_CASE("when the caller cannot prepare the copy, the store is unchanged") {
  const Folder folder;
  make(folder);
  const std::string before = bytes_of(folder / "s.db");
  const auto refused =
      restore(plan(folder, true), [](Store&) -> Status { return Error{"no", "", ""}; });
  REQUIRE_FALSE(refused);
  CHECK(refused.error().message() == "no");
  CHECK(bytes_of(folder / "s.db") == before);
  CHECK(files_in(folder / ".") == 2);
}

TEST_CASE(
    "a file that is not a sound backup is refused with the right reason, and leaves nothing") {
  const Folder folder;
  make(folder, 3000);
  const auto refused = [&](const char* says) {
    const std::string before = bytes_of(folder / "s.db");
    const auto done = restore(plan(folder, true), kNothing);
    REQUIRE_FALSE(done);
    CHECK_THAT(done.error().message(),
               Contains(says) && Contains("backup.db") && !Contains("restoring"));
    CHECK_THAT(done.error().message(), Contains("name a file that plainwater backup made"));
    CHECK(bytes_of(folder / "s.db") == before);
    CHECK_FALSE(fs::exists(folder / "s.db.before"));
    CHECK_FALSE(fs::exists(folder / "s.db.restoring"));
  };
  const std::string whole = bytes_of(folder / "backup.db");
  const auto write = [&](const std::string& bytes) {
    std::ofstream(folder / "backup.db", std::ios::binary | std::ios::trunc) << bytes;
  };
  SECTION("missing") {
    fs::remove(folder / "backup.db");
    refused("No such file");
  }
  SECTION("a folder") {
    fs::remove(folder / "backup.db");
    fs::create_directory(folder / "backup.db");
    refused("is no file");
  }
  SECTION("empty, short or text") {
    for (const std::string& bytes : {std::string(), whole.substr(0, 99), std::string(5000, 'x')}) {
      write(bytes);
      refused("is no backup of a store");
    }
  }
  SECTION("another program's database") {
    fs::remove(folder / "backup.db");
    SQLite::Database((folder / "backup.db").string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE)
        .exec("CREATE TABLE t (x)");
    refused("another program's file");
  }
  SECTION("cut short, at every page") {
    for (std::size_t length = 4096; length < whole.size(); length += 4096) {
      write(whole.substr(0, length));
      refused("");
    }
  }
  SECTION("overwritten in the middle") {
    std::string bytes = whole;
    for (std::size_t at = bytes.size() / 2; at < bytes.size() / 2 + 8192; ++at) bytes[at] = 'x';
    write(bytes);
    refused("");
  }
  SECTION("a store in use, with its log beside it") {
    std::ofstream(folder / "backup.db-wal") << "log";
    refused("a log lies beside it");
  }
}

TEST_CASE(
    "a newer program's backup is refused with what to do, and the store itself is no backup") {
  const Folder folder;
  make(folder);
  {
    Connection connection(folder / "backup.db", Connection::Access::write);
    connection.execute("PRAGMA user_version = 999");
  }
  const auto newer = restore(plan(folder, true), kNothing);
  REQUIRE_FALSE(newer);
  CHECK_THAT(newer.error().message(),
             Contains("999") && Contains("backup.db") && Contains("newer plainwater"));
  fs::create_hard_link(folder / "s.db", folder / "same.db");
  const auto same = restore({folder / "same.db", folder / "s.db", folder / "kept.db"}, kNothing);
  REQUIRE_FALSE(same);
  CHECK_THAT(same.error().message(), Contains("the store itself"));
}

TEST_CASE(
    "a link to the store stays a link, and what an interrupted restore left is cleared away") {
  const Folder folder;
  make(folder);
  fs::create_symlink(folder / "s.db", folder / "link.db");
  for (const char* suffix : {"", "-wal", "-shm"})
    std::ofstream(beside(folder / "s.db.restoring", suffix)) << "left";
  must(restore({folder / "backup.db", folder / "link.db", folder / "s.db.before"}, kNothing));
  CHECK(fs::is_symlink(folder / "link.db"));
  CHECK(must(opened(folder / "s.db")->epoch()) == 2);
  CHECK(fs::exists(folder / "s.db.before"));
  CHECK_FALSE(fs::exists(folder / "s.db.restoring"));
  // A name in use is not overwritten.
  const auto taken =
      restore({folder / "backup.db", folder / "s.db", folder / "s.db.before"}, kNothing);
  REQUIRE_FALSE(taken);
  CHECK(must(opened(folder / "s.db")->epoch()) == 2);
  CHECK(must(opened(folder / "s.db.before")->epoch()) == 1);
}

TEST_CASE("a log without its store is not read into the new one") {
  const Folder folder;
  make(folder);
  fs::rename(folder / "s.db", folder / "gone.db");
  std::ofstream(folder / "s.db-wal") << "log";
  const auto refused = restore(plan(folder, false), kNothing);
  REQUIRE_FALSE(refused);
  CHECK_THAT(refused.error().message(), Contains("s.db-wal"));
}

}  // namespace plainwater::store
