// Stores of older programs: migrated, with every row unchanged.
#include <fstream>

#include "fixture.h"
#include "store/connection.h"
#include "store/journal_reads.h"
#include "store/ledger_reads.h"
#include "store/migrations.h"
#include "store/outbox_reads.h"
#include "store/snapshot_reads.h"

namespace plainwater::store {
namespace {

/// A store as the program of that schema would have left it, with these rows.
void make_old(const std::filesystem::path& path, int schema, const char* rows) {
  std::ofstream(path).close();
  Connection connection(path, Connection::Access::write);
  must(migrate(connection, {migrations().begin(), migrations().begin() + schema}));
  REQUIRE(connection.number("PRAGMA user_version") == schema);
  connection.execute(rows);
}

/// All rows of a table as text, in order.
std::string dump(const std::filesystem::path& path, const char* query) {
  Connection connection(path, Connection::Access::read);
  SQLite::Statement statement(connection.database(), query);
  std::string text;
  while (statement.executeStep()) {
    for (int i = 0; i < statement.getColumnCount(); ++i)
      text += (statement.getColumn(i).isNull() ? "NULL" : statement.getColumn(i).getString()) + "|";
    text += "\n";
  }
  return text;
}

// 2026-09-14 is 1789344000000 ms. Rows 3 to 6 were thinned long ago.
constexpr const char* kRowsOfSchema1 = R"(
  INSERT INTO sensors (id, name) VALUES (1, 'air'), (7, 'floor');
  INSERT INTO journal (seq, kind, now_ms, body) VALUES (1, 2, 1789344000000, 'site: x'), (2, 4, 1789344000000, '');
  INSERT INTO journal (seq, kind, now_ms, sensor_id, quantity, time_ms, value_milli) VALUES
    (7, 0, 1789344000000, 1, 0, 1789344000000, 21375), (8, 0, 1789344000000, 1, 1, 1789344000000, 61000),
    (9, 0, 1789344060000, 7, 0, -1, -40000), (12, 0, 1789344120000, 7, 0, -1, -40001);
  INSERT INTO journal (seq, kind, now_ms, body) VALUES (13, 1, 1789344180000, '{"note":"naïve ''quote''"}'), (14, 3, 1789344180000, ''),
    (20, 5, 1789344240000, 'dose');
  INSERT INTO ledger (id, journal_seq, ordinal, time_ms, bench, decision, cause, json) VALUES (1, 3, 0, 1789344000000, 'mist', 'notice', 'clock', '{}');
  INSERT INTO snapshots (journal_seq, now_ms, revision, kept, bytes) VALUES (6, 1789344000000, 1, 1, x'00ff');
  INSERT INTO hourly (sensor_id, quantity, hour, sum_milli, min_milli, max_milli, count) VALUES (1, 0, 497039, 63000, 20000, 22000, 3);
  INSERT INTO outbox (id, kind, topic, payload, qos, retain, created_ms) VALUES (5, 'order', 't', x'70', 1, 0, 1789344000000);
  UPDATE meta SET value = 6 WHERE key IN ('thinned_seq', 'cut_seq');
)";

constexpr const char* kEveryTable[] = {
    "SELECT * FROM journal ORDER BY seq",
    "SELECT * FROM sensors ORDER BY id",
    "SELECT id, journal_seq, ordinal, time_ms, bench, decision, cause, json FROM ledger",
    "SELECT journal_seq, now_ms, revision, kept, hex(bytes) FROM snapshots",
    "SELECT * FROM hourly",
    "SELECT * FROM outbox",
    "SELECT * FROM meta ORDER BY key"};
constexpr const char* kIndexes =
    "SELECT name, sql FROM sqlite_schema WHERE type IN ('index', 'trigger') AND sql IS NOT NULL "
    "ORDER BY name";

}  // namespace

TEST_CASE("a store of schema 1 keeps every row, with its number, and its indexes") {
  const Folder folder;
  const auto path = folder / "old.db";
  make_old(path, 1, kRowsOfSchema1);
  std::vector<std::string> before;
  for (const char* query : kEveryTable) before.push_back(dump(path, query));
  REQUIRE(std::count(before[0].begin(), before[0].end(), '\n') == 9);
  const std::string indexes = dump(path, kIndexes);
  REQUIRE_THAT(indexes, Catch::Contains("journal_reading") && Catch::Contains("journal_other") &&
                            Catch::Contains("ledger_is_kept"));
  const std::string later[] = {
      "carried_is_final|CREATE TRIGGER carried_is_final BEFORE UPDATE ON carried\n"
      "BEGIN SELECT RAISE(ABORT, 'the ledger is never changed'); END|\n",
      "carried_is_kept|CREATE TRIGGER carried_is_kept BEFORE DELETE ON carried\n"
      "BEGIN SELECT RAISE(ABORT, 'the ledger is never deleted from'); END|\n",
      "journal_dose|CREATE UNIQUE INDEX journal_dose ON journal (body) WHERE kind = 5|\n",
      "ledger_decision|CREATE INDEX ledger_decision ON ledger (decision, id)|\n",
      "outbox_topic|CREATE INDEX outbox_topic ON outbox (topic, id)|\n",
      "seals_are_final|CREATE TRIGGER seals_are_final BEFORE UPDATE ON seals\n"
      "BEGIN SELECT RAISE(ABORT, 'seals are never changed'); END|\n",
      "seals_are_kept|CREATE TRIGGER seals_are_kept BEFORE DELETE ON seals\n"
      "BEGIN SELECT RAISE(ABORT, 'seals are never deleted'); END|\n"};

  auto store = opened(path);
  for (std::size_t i = 0; i < before.size(); ++i) CHECK(dump(path, kEveryTable[i]) == before[i]);
  std::string now = dump(path, kIndexes);
  for (const std::string& index : later) {
    const auto at = now.find(index);
    REQUIRE(at != std::string::npos);
    now.erase(at, index.size());
  }
  CHECK(now == indexes);
  CHECK(dump(path, "SELECT name FROM sqlite_schema WHERE name LIKE 'journal%' ORDER BY name") ==
        "journal|\njournal_dose|\njournal_other|\njournal_reading|\n");
  CHECK(dump(path, "PRAGMA integrity_check") == "ok|\n");
  CHECK(dump(path, "PRAGMA foreign_key_check").empty());

  // It works like a new store: old readings are recognised, numbers continue, and a contact's
  // reading can be stored.
  CHECK(append(*store, reading("air", kStart, 21'375)).seq == 7);
  CHECK_FALSE(append(*store, reading("air", kStart, 21'375)).is_new);
  CHECK(append(*store, reading("door", kStart, 1000, Quantity::place)).seq == 21);
  CHECK_FALSE(append(*store, reading("door", kStart, 1000, Quantity::place)).is_new);
  CHECK(must(JournalReads(*store).settings_in_force())->body == "site: x");
  CHECK(must(SnapshotReads(*store).at_cut())->bytes == std::string("\0\xff", 2));
  CHECK(journal(*store, 6).size() == 8);
  store.reset();
  CHECK(journal(*opened(path)).back().second.quantity == Quantity::place);
}

TEST_CASE("a store of schema 2 keeps every row and recognises its doses") {
  const Folder folder;
  const auto path = folder / "old.db";
  make_old(path, 2, kRowsOfSchema1);
  {
    Connection connection(path, Connection::Access::write);
    connection.execute(
        "INSERT INTO journal (seq, kind, now_ms, sensor_id, quantity, time_ms, value_milli) VALUES "
        "(21, 0, 1789344240000, 7, 2, 1789344240000, 1000); INSERT INTO journal (seq, kind, "
        "now_ms, body) VALUES "
        "(22, 1, 1789344240000, 'dose'), (23, 1, 1789344240000, 'dose'), (24, 5, 1789344240000, "
        "'another'), (25, 4, 1789344240000, NULL)");
  }
  std::vector<std::string> before;
  for (const char* query : kEveryTable) before.push_back(dump(path, query));

  auto store = opened(path);
  for (std::size_t i = 0; i < before.size(); ++i) CHECK(dump(path, kEveryTable[i]) == before[i]);
  CHECK(dump(path, "PRAGMA integrity_check") == "ok|\n");
  const auto known = append(*store, other(JournalKind::dose, kStart + kDay, "dose"));
  CHECK_FALSE(known.is_new);
  CHECK(known.seq == 20);
  CHECK_FALSE(
      append(*store, reading("floor", from_ms(1'789'344'240'000), 1000, Quantity::place)).is_new);
  CHECK(append(*store, other(JournalKind::dose, kStart + kDay, "a third")).seq == 26);
  CHECK(append(*store, other(JournalKind::request, kStart + kDay, "dose")).is_new);
}

TEST_CASE("a store of schema 5 recognises the ids of its requests, with the time first taken") {
  const Folder folder;
  const auto path = folder / "old.db";
  make_old(path, 5, kRowsOfSchema1);
  {
    Connection connection(path, Connection::Access::write);
    connection.execute(
        "INSERT INTO journal (seq, kind, now_ms, body) VALUES (21, 1, 1789344250000, "
        "'{\"id\":\"h\"}'),"
        "(22, 1, 1789344260000, '{\"id\":\"h\"}'), (23, 1, 1789344270000, '{\"id\":\"\"}'),"
        "(24, 1, 1789344280000, 'no JSON'), (25, 5, 1789344290000, '{\"id\":\"dose\"}')");
  }
  std::vector<std::string> before;
  for (const char* query : kEveryTable) before.push_back(dump(path, query));
  auto store = opened(path);
  for (std::size_t i = 0; i < before.size(); ++i) CHECK(dump(path, kEveryTable[i]) == before[i]);
  CHECK(dump(path, "SELECT * FROM request_ids") == "h|1789344250000|\n");
  const auto first = [&](const char* id) { return must(JournalReads(*store).first_answered(id)); };
  CHECK(first("h") == from_ms(1'789'344'250'000));
  CHECK_FALSE(first("dose"));
  CHECK_FALSE(first(""));
}

TEST_CASE("an id belongs to the request that was answered first, and to no other") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  const auto first = [&](const char* id) { return must(JournalReads(*store).first_answered(id)); };
  append(*store, other(JournalKind::request, kStart, R"({"id":"put off"})"));
  CHECK_FALSE(first("put off"));
  for (const Instant now : {kStart + kDay, kStart, kStart + 2 * kDay}) {
    auto transaction = must(store->begin());
    must(transaction.keep_request_id("h", now));
    must(transaction.commit());
  }
  CHECK(first("h") == kStart + kDay);
  {
    auto lost = must(store->begin());
    must(lost.keep_request_id("rolled back", kStart));
  }
  CHECK_FALSE(first("rolled back"));
}

TEST_CASE("a store of schema 1 is not read before it is migrated") {
  const Folder folder;
  const auto path = folder / "old.db";
  make_old(path, 1, kRowsOfSchema1);
  const auto reader = Store::open_to_read(path);
  REQUIRE_FALSE(reader);
  CHECK_THAT(reader.error().message(),
             Catch::Contains("number 1") && Catch::Contains("start the service once"));
  opened(path).reset();
  CHECK(Store::open_to_read(path));
}

TEST_CASE("readings that schema 1 refused are still refused") {
  const Folder folder;
  opened(folder / "s.db").reset();
  Connection connection(folder / "s.db", Connection::Access::write);
  connection.execute("INSERT INTO sensors (id, name) VALUES (1, 'air')");
  for (const char* values :
       {"(0, 1, 1, 3, 1, 1, NULL)", "(0, 1, 1, -1, 1, 1, NULL)", "(0, 1, NULL, 0, 1, 1, NULL)",
        "(0, 1, 1, 2, NULL, 1, NULL)", "(0, 1, 1, 2, 1, NULL, NULL)", "(0, 1, 1, 2, 1, 1, 'body')",
        "(6, 1, NULL, NULL, NULL, NULL, '')", "(0, 1, 2, 2, 1, 1, NULL)"}) {
    INFO(values);
    CHECK_THROWS_AS(
        connection.execute(std::string("INSERT INTO journal (kind, now_ms, sensor_id, quantity, "
                                       "time_ms, value_milli, body) VALUES ") +
                           values),
        SQLite::Exception);
  }
  CHECK(connection.number("SELECT COUNT(*) FROM journal") == 0);
}

TEST_CASE("a store of schema 6 has words alone, and says them as they are") {
  const Folder folder;
  const auto path = folder / "old.db";
  make_old(path, 6, kRowsOfSchema1);
  {
    Connection connection(path, Connection::Access::write);
    connection.execute(
        "INSERT INTO notices (key, kind, urgency, lasts, bench, pump, sensor, detail, text, "
        "evidence, decision, state, told, heard, acknowledged_by, effects) VALUES ('chill/mist', "
        "'chill', 0, 1, 'mist', '', '', '', 'The air fell to 8.4 °C. Please check the heating.', "
        "'{}', '', 1, 1, 1, '', '')");
  }
  auto store = opened(path);
  std::vector<std::string> said;
  REQUIRE(LedgerReads(*store).walk({}, [&](const LedgerRow& row) {
    said.push_back(row.said);
    return true;
  }));
  CHECK(said == std::vector<std::string>{""});
  const auto items = must(OutboxReads(*store).notices());
  REQUIRE(items.size() == 1);
  CHECK(items[0].matter.text() == "The air fell to 8.4 °C. Please check the heating.");
  CHECK(words::in_english(items[0].matter.said.first()) == "The air fell to 8.4 °C.");
}

}  // namespace plainwater::store
