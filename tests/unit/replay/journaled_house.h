// The small house with a store: a store and an engine fed alike, as the service does it.
#pragma once

#include <memory>
#include <string>
#include <utility>

#include "outlet/requests.h"
#include "replay/fold.h"
#include "store/connection.h"
#include "store/ledger_reads.h"
#include "store/store.h"
#include "unit/folder.h"
#include "unit/house.h"

namespace plainwater::testing {

/// A store and an engine that get the same input, as in the service.
struct House {
  Folder folder;
  std::shared_ptr<const Settings> settings = house();
  std::unique_ptr<store::Store> store =
      store::Store::open(folder.path / "a.db", Durability::process).value();
  engine::Engine engine{settings};
  std::int64_t seq = 0;

  void take(store::JournalKind kind, const char* now, std::string body, bool record = true) {
    store::JournalRow row;
    row.kind = kind;
    row.now = at(now);
    row.body = std::move(body);
    put(row, record);
  }
  void put(const store::JournalRow& row, bool record = true) {
    auto transaction = store->begin();
    REQUIRE(transaction);
    const auto appended = transaction->append(row);
    REQUIRE(appended);
    seq = appended->seq;
    engine::Outcome outcome;
    replay::take_row(engine, *settings, row, outcome);
    if (record) REQUIRE(transaction->record(seq, outcome.decisions));
    REQUIRE(transaction->record(outcome.nights));
    REQUIRE(transaction->commit());
  }
  void read(const char* now, Milli value) {
    store::JournalRow row;
    row.now = row.time = at(now);
    row.kind = store::JournalKind::reading;
    row.sensor = "long-air";
    row.value = value;
    put(row);
  }
  void snapshot() {
    auto transaction = store->begin();
    REQUIRE(transaction);
    REQUIRE(
        transaction->save_snapshot({seq, engine.now(), engine::kRulesRevision, engine.snapshot()}));
    REQUIRE(transaction->commit());
  }
  std::string hold(const char* id) const {
    return outlet::to_json(request(id, feeding::RequestKind::hold, "long"));
  }
  int ledger_rows() {
    int rows = 0;
    REQUIRE(
        store::LedgerReads(*store).walk({}, [&](const store::LedgerRow&) { return ++rows, true; }));
    return rows;
  }

  /// Starts again with other settings, or as a program with other rules.
  void change(std::shared_ptr<const Settings> to, int revision = engine::kRulesRevision,
              bool stored = true) {
    auto transaction = store->begin();
    REQUIRE(transaction);
    store::JournalRow row;
    row.kind = store::JournalKind::settings;
    row.now = engine.now() == kNever ? at("2026-07-01T09:00:00Z") : engine.now();
    row.body = replay::to_json(replay::SettingsRecord{revision, to->text});
    seq = transaction->append(row)->seq;
    auto restored = engine::Engine::restore(to, engine.snapshot());
    REQUIRE(restored);
    settings = to;
    engine = std::move(*restored);
    if (stored)
      REQUIRE(transaction->save_snapshot({seq, engine.now(), revision, engine.snapshot(), true}));
    REQUIRE(transaction->commit());
  }
  /// Runs SQL on the file, bypassing all protection.
  void tamper(const std::string& sql) {
    store::Connection connection(folder.path / "a.db", store::Connection::Access::write);
    auto& database = connection.database();
    std::string triggers, drops;
    SQLite::Statement each(database, "SELECT sql, name FROM sqlite_schema WHERE type = 'trigger'");
    while (each.executeStep()) {
      triggers += each.getColumn(0).getString() + ";";
      drops += "DROP TRIGGER " + each.getColumn(1).getString() + ";";
    }
    each.reset();
    connection.execute(drops);
    connection.execute(sql);
    connection.execute(triggers);
  }
};

}  // namespace plainwater::testing
