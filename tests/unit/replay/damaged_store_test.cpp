// A store changed by hand or damaged by its disk: if SQLite can open it, it is read back or refused
// with a sentence, and an audit reports what it found.
#include <string>
#include <vector>

#include "journaled_house.h"
#include "replay/audit.h"

using namespace plainwater;
using namespace plainwater::replay;
using namespace plainwater::testing;
using store::JournalKind;

namespace {

/// Two days with a hold, a chill, and a snapshot between them.
void live_with_snapshot(House& house) {
  house.change(house.settings);
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.take(JournalKind::request, "2026-07-01T11:00:00Z", house.hold("1"));
  house.read("2026-07-01T11:10:00Z", 21'000);
  house.snapshot();
  house.take(JournalKind::request, "2026-07-01T12:00:00Z",
             outlet::to_json(request("2", feeding::RequestKind::release, "long")));
  house.read("2026-07-01T23:00:00Z", 6'900);
  house.read("2026-07-01T23:05:00Z", 6'800);
  house.take(JournalKind::tick, "2026-07-02T10:30:00Z", "");
}

void live_and_damage(House& house, const std::string& damage) {
  live_with_snapshot(house);
  house.store.reset();
  house.tamper(damage);
}

/// Adds a decision without an input, at this place of the journal.
std::string stray(const std::string& seq, const std::string& time_ms) {
  return "INSERT INTO ledger (journal_seq, ordinal, time_ms, bench, decision, cause, json) VALUES "
         "(" +
         seq + ", 0, " + time_ms + ", 'long', 'notice', 'x', '{}')";
}

const char* const kMost = "9223372036854775807";
const char* const kLeast = "-9223372036854775807";

std::vector<std::string> damages() {
  return {
      stray("1000000", "1782900000000"),
      stray(kMost, kMost),
      stray(kLeast, kLeast),
      stray("0", "0"),
      "UPDATE ledger SET ordinal = 9223372036854775807 WHERE id = 1",
      "UPDATE ledger SET json = '{\"broken'",
      "DELETE FROM ledger",
      std::string("UPDATE journal SET now_ms = ") + kMost +
          " WHERE seq = (SELECT MAX(seq) FROM journal)",
      std::string("UPDATE journal SET now_ms = ") + kLeast + " WHERE seq = 3",
      std::string("UPDATE journal SET time_ms = ") + kMost + " WHERE kind = 0",
      std::string("UPDATE journal SET time_ms = ") + kLeast + " WHERE kind = 0 AND seq = 4",
      "UPDATE journal SET value_milli = 9223372036854775807 WHERE seq = 4",
      "PRAGMA foreign_keys = OFF; UPDATE journal SET sensor_id = 77 WHERE kind = 0",
      "PRAGMA foreign_keys = OFF; DELETE FROM sensors",
      "PRAGMA ignore_check_constraints = ON; UPDATE journal SET kind = 99 WHERE seq = 4",
      "PRAGMA ignore_check_constraints = ON; UPDATE journal SET quantity = 7 WHERE kind = 0",
      "UPDATE journal SET body = 'no JSON' WHERE kind = 1",
      "UPDATE journal SET body = 'no JSON' WHERE kind = 2",
      "UPDATE journal SET body = NULL WHERE kind <> 0",
      "UPDATE snapshots SET bytes = zeroblob(length(bytes))",
      "UPDATE snapshots SET bytes = x''",
      "UPDATE snapshots SET bytes = substr(bytes, 1, length(bytes) / 2)",
      "UPDATE snapshots SET bytes = x'50536e7006000000ffeeddccbbaa99887766554433221100'",
      std::string("UPDATE snapshots SET now_ms = ") + kMost,
      std::string("UPDATE snapshots SET journal_seq = ") + kMost +
          " WHERE journal_seq = (SELECT MAX(journal_seq) FROM snapshots)",
      "UPDATE snapshots SET revision = -5",
      "DELETE FROM snapshots",
      "DELETE FROM journal WHERE seq = 3",
      "DELETE FROM journal",
      std::string("UPDATE meta SET value = ") + kMost,
      std::string("UPDATE meta SET value = ") + kLeast,
      "DELETE FROM meta",
  };
}

}  // namespace

TEST_CASE("a store damaged by hand is read back or refused with a sentence") {
  for (const auto& damage : damages()) {
    INFO(damage);
    House house;
    live_and_damage(house, damage);
    const auto store = store::Store::open(house.folder.path / "a.db", Durability::process);
    if (!store) {
      CHECK_FALSE(store.error().message().empty());
      continue;
    }
    const auto folded = fold_store(**store, house.settings);
    if (!folded) CHECK_FALSE(folded.error().message().empty());
  }
}

TEST_CASE("an audit of a store damaged by hand ends and reports it") {
  for (const auto& damage : damages()) {
    INFO(damage);
    House house;
    live_and_damage(house, damage);
    const auto audit = audit_store(house.folder.path / "a.db", {});
    if (!audit) CHECK_FALSE(audit.error().message().empty());
    // Data that only speeds up a start is not compared.
    const bool compared =
        damage.find("snapshots") == std::string::npos && damage.find("meta") == std::string::npos;
    if (audit && compared) CHECK_FALSE(audit->identical());
  }
}

TEST_CASE("overwritten snapshots cost a fold of the whole journal, and nothing else") {
  for (const char* bytes :
       {"zeroblob(length(bytes))", "x''", "substr(bytes, 1, length(bytes) / 2)"}) {
    INFO(bytes);
    House house;
    live_with_snapshot(house);
    const auto before = house.engine.snapshot();
    house.store.reset();
    house.tamper(std::string("UPDATE snapshots SET bytes = ") + bytes);
    auto store = store::Store::open(house.folder.path / "a.db", Durability::process);
    REQUIRE(store);
    const auto folded = fold_store(**store, house.settings);
    if (!folded) FAIL(folded.error().message());
    CHECK(folded->engine.snapshot() == before);
    REQUIRE(folded->differences.size() == 1);
    CHECK(folded->differences[0].find("snapshot") != std::string::npos);
  }
}
