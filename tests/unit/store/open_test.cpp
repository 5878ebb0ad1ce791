#include <SQLiteCpp/SQLiteCpp.h>
#include <sys/stat.h>

#include <fstream>

#include "fixture.h"
#include "store/connection.h"
#include "store/journal_reads.h"
#include "store/migrations.h"
#include "store/outbox_reads.h"
#include "store/sensor_reads.h"
#include "store/snapshot_reads.h"

namespace plainwater::store {
namespace {

using Catch::Contains;

void sql(const std::filesystem::path& path, const std::string& text) {
  SQLite::Database(path.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE).exec(text);
}

std::string refusal(const std::filesystem::path& path) {
  const auto store = Store::open(path, Durability::process);
  return store ? "opened" : store.error().message();
}

TEST_CASE("a new store is made from nothing, private to user and group") {
  const Folder folder;
  const auto path = folder / "new.db";
  const mode_t before = ::umask(0);
  auto store = opened(path, Durability::power);
  ::umask(before);
  struct stat facts{};
  REQUIRE(::stat(path.c_str(), &facts) == 0);
  CHECK((facts.st_mode & 0777) == 0640);
  CHECK(store->healthy());
  CHECK(must(store->epoch()) == 1);
  CHECK(must(JournalReads(*store).last_seq()) == 0);
  CHECK_FALSE(must(JournalReads(*store).last_now()).has_value());
  CHECK_FALSE(must(SnapshotReads(*store).newest()).has_value());
  CHECK_FALSE(must(JournalReads(*store).settings_in_force()).has_value());
  CHECK(must(OutboxReads(*store).pending()).empty());
}

TEST_CASE("committed rows are there after reopening") {
  const Folder folder;
  const auto path = folder / "again.db";
  {
    auto store = opened(path);
    append(*store, reading("mist-air", kStart, 21'375));
    append(*store, other(JournalKind::settings, kStart + hours(1), "site: one"));
    append(*store, other(JournalKind::settings, kStart + hours(2), "site: two"));
    append(*store, other(JournalKind::tick, kStart + hours(3), ""));
    CHECK(must(store->raise_epoch()) == 2);
  }
  auto store = opened(path);
  const auto rows = journal(*store);
  REQUIRE(rows.size() == 4);
  CHECK(rows[0].second.kind == JournalKind::reading);
  CHECK(rows[0].second.sensor == "mist-air");
  CHECK(rows[0].second.time == kStart);
  CHECK(rows[0].second.value == 21'375);
  CHECK(rows[1].second.body == "site: one");
  const auto settings = must(JournalReads(*store).settings_in_force());
  REQUIRE(settings.has_value());
  CHECK(settings->body == "site: two");
  CHECK(settings->seq == rows[2].first);
  CHECK(must(JournalReads(*store).last_now()) == kStart + hours(3));
  CHECK(must(store->epoch()) == 2);
  const auto id = must(SensorReads(*store).id("mist-air"));
  REQUIRE(id.has_value());
  CHECK(must(SensorReads(*store).name(*id)) == "mist-air");
  CHECK_FALSE(must(SensorReads(*store).id("nobody")).has_value());
  CHECK_FALSE(must(SensorReads(*store).name(*id + 1)).has_value());
}

TEST_CASE("a newer schema is refused and left unchanged") {
  const Folder folder;
  const auto path = folder / "newer.db";
  opened(path).reset();
  sql(path, "PRAGMA user_version = 999");
  CHECK_THAT(refusal(path),
             Contains("999") && Contains("newer.db") && Contains("install the newer"));
  CHECK(SQLite::Database(path.string()).execAndGet("PRAGMA user_version").getInt() == 999);
}

TEST_CASE("another program's file is refused and left unchanged") {
  const Folder folder;
  const auto path = folder / "foreign.db";
  sql(path, "CREATE TABLE recipes (name TEXT)");
  CHECK_THAT(refusal(path), Contains("another program") && Contains("foreign.db"));
  CHECK(SQLite::Database(path.string()).execAndGet("PRAGMA journal_mode").getString() == "delete");

  const auto letter = folder / "letter.txt";
  std::ofstream(letter) << std::string(5000, 'x');
  CHECK_THAT(refusal(letter), Contains("letter.txt") && Contains("file of its own"));
}

TEST_CASE("a missing folder or a folder for a file is named with its remedy") {
  const Folder folder;
  CHECK_THAT(refusal(folder / "none" / "x.db"), Contains("No such file") && Contains("install -d"));
  CHECK_THAT(refusal(folder / ""), Contains("directory"));
}

TEST_CASE("a second writer is refused, a reader is not, and cannot write") {
  const Folder folder;
  const auto path = folder / "shared.db";
  auto store = opened(path);
  CHECK_THAT(refusal(path), Contains("another plainwater service"));
  append(*store, reading("air", kStart, 1));
  auto reader = must(Store::open_to_read(path));
  append(*store, reading("air", kStart, 2));
  CHECK(journal(*reader).size() == 2);
  const auto begun = reader->begin();
  REQUIRE_FALSE(begun);
  CHECK_THAT(begun.error().message(), Contains("reading only"));
  store.reset();
  CHECK(refusal(path) == "opened");
  CHECK_FALSE(Store::open_to_read(folder / "absent.db"));
}

TEST_CASE("a damaged ledger is found at the start") {
  const Folder folder;
  const auto path = folder / "damaged.db";
  {
    auto store = opened(path);
    auto transaction = must(store->begin());
    std::vector<feeding::Decision> decisions(200);
    for (auto& d : decisions) d.said = words::as_it_is(std::string(300, 'x'));
    must(transaction.record(1, decisions));
    must(transaction.commit());
  }
  std::int64_t page = 0;
  {
    SQLite::Database db(path.string(), SQLite::OPEN_READWRITE);
    db.exec("PRAGMA wal_checkpoint(TRUNCATE)");
    page = db.execAndGet("SELECT rootpage FROM sqlite_schema WHERE name = 'ledger'").getInt64();
  }
  std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
  file.seekp((page - 1) * 4096);
  file << std::string(200, '\x7f');
  file.close();
  CHECK_THAT(refusal(path), Contains("damaged.db") && Contains("restore the last backup"));
}

TEST_CASE("migrations are applied in order, once, and a failing one leaves the schema before it") {
  const Folder folder;
  const auto path = folder / "steps.db";
  std::ofstream(path).close();
  Connection connection(path, Connection::Access::write);
  const std::vector<Migration> first{
      {1, "001-a.sql", "CREATE TABLE a (x INTEGER) STRICT; INSERT INTO a VALUES (7);"}};
  must(migrate(connection, first));
  must(migrate(connection, first));
  CHECK(connection.number("SELECT COUNT(*) FROM a") == 1);

  auto broken = first;
  broken.push_back(
      {2, "002-b.sql", "CREATE TABLE b (x INTEGER) STRICT; INSERT INTO nowhere VALUES (1);"});
  const auto failed = migrate(connection, broken);
  REQUIRE_FALSE(failed);
  CHECK_THAT(failed.error().message(),
             Contains("002-b.sql") && Contains("undone") && Contains("nowhere"));
  CHECK(connection.number("PRAGMA user_version") == 1);
  CHECK(connection.number("SELECT COUNT(*) FROM sqlite_schema WHERE name = 'b'") == 0);

  auto mended = first;
  mended.push_back(
      {2, "002-b.sql", "CREATE TABLE b (x INTEGER) STRICT; INSERT INTO b SELECT x FROM a;"});
  must(migrate(connection, mended));
  CHECK(connection.number("SELECT x FROM b") == 7);
  CHECK(connection.number("PRAGMA user_version") == 2);
  CHECK_FALSE(migrate(connection, first));
}

TEST_CASE("the embedded migrations are numbered without gaps") {
  int expected = 0;
  for (const Migration& m : migrations()) CHECK(m.number == ++expected);
  CHECK(expected >= 1);
}

}  // namespace
TEST_CASE("a store has one id for its instance, and a copy for another instance has another") {
  const Folder folder;
  const auto first = must(opened(folder / "s.db")->identity("main"));
  {
    auto store = opened(folder / "s.db");
    const auto again = must(store->identity("main"));
    CHECK(again.id == first.id);
    CHECK(again.lineage == first.lineage);
    must(store->backup_to(folder / "copy.db"));
  }
  CHECK(must(opened(folder / "copy.db")->identity("main")).id == first.id);
  const auto spare = must(opened(folder / "copy.db")->identity("spare"));
  CHECK(spare.id != first.id);
  CHECK(spare.lineage == first.lineage);
  // Rows that come back from the spare are no longer the main one's.
  const auto back = must(opened(folder / "copy.db")->identity("main"));
  CHECK(back.id != first.id);
  CHECK(back.id != spare.id);
  CHECK(back.lineage == first.lineage);
  CHECK(must(opened(folder / "other.db")->identity("main")).lineage != first.lineage);
}

TEST_CASE("copies of a store from before there were ids have one lineage") {
  const Folder folder;
  {
    auto store = opened(folder / "s.db");
    append(*store, other(JournalKind::settings, kStart, "site: x"));
    must(store->backup_to(folder / "copy.db"));
  }
  const auto main = must(opened(folder / "s.db")->identity("main"));
  const auto spare = must(opened(folder / "copy.db")->identity("spare"));
  CHECK(main.lineage == spare.lineage);
  CHECK(main.id != spare.id);
}

}  // namespace plainwater::store
