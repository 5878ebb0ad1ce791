#include "outlet/fold.h"

#include <cstdlib>
#include <filesystem>

#include "house.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"

using namespace plainwater;
using namespace plainwater::outlet;
using namespace plainwater::testing;
using feeding::RequestKind;
using store::JournalKind;

namespace {

struct Folder {
  std::filesystem::path path;
  Folder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "plainwater-fold-XXXXXX").string();
    REQUIRE(::mkdtemp(pattern.data()) != nullptr);
    path = pattern;
  }
  ~Folder() { std::filesystem::remove_all(path); }
};

/// A store and an engine fed alike, as the service does it.
struct House {
  Folder folder;
  std::shared_ptr<const Settings> settings = house();
  std::unique_ptr<store::Store> store = store::Store::open(folder.path / "a.db", Durability::process).value();
  engine::Engine engine{settings};
  std::int64_t seq = 0;

  void take(JournalKind kind, const char* now, std::string body, bool record = true) {
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
    take_row(engine, *settings, row, outcome);
    if (record) REQUIRE(transaction->record(seq, outcome.decisions));
    REQUIRE(transaction->commit());
  }
  void read(const char* now, Milli value) {
    store::JournalRow row;
    row.now = row.time = at(now);
    row.kind = JournalKind::reading;
    row.sensor = "long-air";
    row.value = value;
    put(row);
  }
  void snapshot() {
    auto transaction = store->begin();
    REQUIRE(transaction);
    REQUIRE(transaction->save_snapshot({seq, engine.now(), engine::kRulesRevision, engine.snapshot()}));
    REQUIRE(transaction->commit());
  }
  std::string hold(const char* id) const { return to_json(request(id, RequestKind::hold, "long")); }
  int ledger_rows() {
    int rows = 0;
    REQUIRE(store->ledger({}, [&](const store::LedgerRow&) { return ++rows, true; }));
    return rows;
  }
};

}  // namespace

TEST_CASE("a snapshot and the journal since give the state back") {
  House house;
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.read("2026-07-01T10:00:10Z", 21'000);
  const bool with_snapshot = GENERATE(false, true);
  if (with_snapshot) house.snapshot();
  house.take(JournalKind::request, "2026-07-01T11:00:00Z", house.hold("1"));
  house.read("2026-07-01T11:00:10Z", 21'500);
  const int recorded = house.ledger_rows();

  const auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK(folded->engine.snapshot() == house.engine.snapshot());
  CHECK(folded->seq == house.seq);
  CHECK(folded->rows == (with_snapshot ? 2 : 4));
  CHECK(folded->missing == 0);
  CHECK(folded->differences.empty());
  CHECK(house.ledger_rows() == recorded);
}

TEST_CASE("the snapshot of a former version is replaced by the whole journal; what was decided stays") {
  House house;
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.take(JournalKind::request, "2026-07-01T11:00:00Z", house.hold("1"), false);  // the other program recorded nothing here
  std::string bytes = house.engine.snapshot();
  bytes[4] = 1;  // the version, behind the four bytes that say what it is
  auto transaction = house.store->begin();
  REQUIRE(transaction);
  REQUIRE(transaction->save_snapshot({house.seq, house.engine.now(), 1, bytes}));
  REQUIRE(transaction->commit());
  house.take(JournalKind::request, "2026-07-01T12:00:00Z", to_json(request("2", RequestKind::release, "long")));
  const int recorded = house.ledger_rows();

  const auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK(folded->engine.snapshot() == house.engine.snapshot());
  CHECK(folded->rows == 3);
  REQUIRE(folded->differences.size() == 1);
  CHECK(folded->differences[0].find("former version") != std::string::npos);
  CHECK(house.ledger_rows() == recorded);

  bytes[4] = 99;
  auto later = house.store->begin();
  REQUIRE(later->save_snapshot({house.seq, house.engine.now(), 1, bytes}));
  REQUIRE(later->commit());
  CHECK_FALSE(fold_store(*house.store, house.settings));  // a newer program's state is never guessed at
}

TEST_CASE("decisions that the ledger lacks are recorded") {
  House house;
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  const int before = house.ledger_rows();
  house.take(JournalKind::request, "2026-07-01T11:00:00Z", house.hold("1"), false);
  const auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK(folded->missing > 0);
  CHECK(house.ledger_rows() == before + static_cast<int>(folded->missing));
  const auto again = fold_store(*house.store, house.settings);
  REQUIRE(again);
  CHECK(again->missing == 0);
  CHECK(again->differences.empty());
}

TEST_CASE("a ledger that differs from its journal is told") {
  House house;
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  store::JournalRow row;
  row.kind = JournalKind::request;
  row.now = at("2026-07-01T11:00:00Z");
  row.body = house.hold("1");
  auto transaction = house.store->begin();
  REQUIRE(transaction);
  const auto appended = transaction->append(row);
  feeding::Decision other;
  other.text = "Something else.";
  REQUIRE(transaction->record(appended->seq, std::span(&other, 1)));
  REQUIRE(transaction->commit());
  const auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  REQUIRE_FALSE(folded->differences.empty());
  CHECK(folded->differences.front().find("Something else.") != std::string::npos);
}

TEST_CASE("other settings take over the state, and the journal before is folded under its own") {
  House house;
  house.take(JournalKind::settings, "2026-07-01T09:00:00Z", to_json(SettingsRecord{engine::kRulesRevision, house.settings->text}));
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.take(JournalKind::request, "2026-07-01T11:00:00Z", house.hold("1"));
  const auto changed = testing::house("feeding: {order_valid: 12 h}\n");
  const auto folded = fold_store(*house.store, changed);
  REQUIRE(folded);
  CHECK(folded->differences.empty());
  const auto bench = folded->engine.bench(*changed->bench("long"));
  CHECK(bench.feeding == feeding::Feeding::plain_water);
  REQUIRE(bench.hold);
  CHECK(bench.hold->cause == feeding::Cause::grower);
}

TEST_CASE("a dose goes into the engine as it was taken; one that cannot be read does nothing") {
  House house;
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  feeding::DoseReport report;
  report.pump = "long";
  report.time = at("2026-07-01T10:59:00Z");
  report.litres = 5;
  report.feed_ml = 25;
  engine::Engine direct(house.settings);
  engine::Outcome outcome;
  direct.advance(at("2026-07-01T10:00:00Z"), outcome);
  direct.take(report, at("2026-07-01T11:00:00Z"), outcome);
  house.take(JournalKind::dose, "2026-07-01T11:00:00Z", to_json(report));
  CHECK(house.engine.snapshot() == direct.snapshot());
  CHECK(house.engine.now() == at("2026-07-01T11:00:00Z"));

  house.take(JournalKind::dose, "2026-07-01T12:00:00Z", "a body of another program");
  CHECK(house.engine.snapshot() == direct.snapshot());
  const auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK(folded->engine.snapshot() == house.engine.snapshot());
  CHECK(folded->differences.empty());
}

TEST_CASE("the last word on the clock is remembered") {
  House house;
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.take(JournalKind::clock, "2026-07-01T10:01:00Z", clock_body(false));
  auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK_FALSE(folded->settled);
  house.take(JournalKind::clock, "2026-07-01T10:02:00Z", clock_body(true));
  folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK(folded->settled);
}
