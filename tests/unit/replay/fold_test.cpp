#include "replay/fold.h"

#include "journaled_house.h"
#include "outlet/dose_report.h"
#include "outlet/requests.h"

using namespace plainwater;
using namespace plainwater::replay;
using namespace plainwater::testing;
using feeding::RequestKind;
using store::JournalKind;

TEST_CASE("a snapshot and the journal since then give the state") {
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

TEST_CASE(
    "the snapshot of a former version is replaced by the whole journal; what was decided stays") {
  House house;
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.take(JournalKind::request, "2026-07-01T11:00:00Z", house.hold("1"),
             false);  // the other program recorded nothing here
  std::string bytes = house.engine.snapshot();
  bytes[4] = 1;  // the version, after the four magic bytes
  auto transaction = house.store->begin();
  REQUIRE(transaction);
  REQUIRE(transaction->save_snapshot({house.seq, house.engine.now(), 1, bytes}));
  REQUIRE(transaction->commit());
  house.take(JournalKind::request, "2026-07-01T12:00:00Z",
             outlet::to_json(request("2", RequestKind::release, "long")));
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
  CHECK_FALSE(
      fold_store(*house.store, house.settings));  // a newer program's state is never guessed
}

TEST_CASE("missing decisions are added to the ledger") {
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

TEST_CASE("a ledger that differs from its journal is reported") {
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
  other.said = words::as_it_is("Something else.");
  REQUIRE(transaction->record(appended->seq, std::span(&other, 1)));
  REQUIRE(transaction->commit());
  const auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  REQUIRE_FALSE(folded->differences.empty());
  CHECK(folded->differences.front().find("Something else.") != std::string::npos);
}

TEST_CASE("new settings take over the state, and the journal before is folded under its own") {
  House house;
  house.take(JournalKind::settings, "2026-07-01T09:00:00Z",
             to_json(SettingsRecord{engine::kRulesRevision, house.settings->text}));
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

TEST_CASE("the whole journal is derived again with every epoch under its own settings") {
  House house;
  house.change(testing::house());
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.read("2026-07-01T23:00:00Z", 7'000);
  house.read("2026-07-01T23:05:00Z", 6'900);
  house.take(JournalKind::tick, "2026-07-01T23:30:00Z", "");
  // In a cool group that air would not have been a chill.
  std::string text = house.settings->text;
  const std::string group = "long: {group: intermediate";
  text.replace(text.find(group), group.size(), "long: {group: cool");
  house.change(load_settings_text(text, "house.yaml").settings);
  house.take(JournalKind::tick, "2026-07-02T00:00:00Z", "");
  auto transaction = house.store->begin();
  std::string bytes = house.engine.snapshot();
  bytes[4] = 1;
  REQUIRE(transaction->save_snapshot({house.seq, house.engine.now(), 1, bytes}));
  REQUIRE(transaction->commit());

  const auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK(folded->engine.bench(*house.settings->bench("long")).cause == feeding::Cause::chill);
  CHECK(folded->engine.snapshot() == house.engine.snapshot());
}

TEST_CASE("a dose is folded as it was taken; an unreadable one does nothing") {
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
  house.take(JournalKind::dose, "2026-07-01T11:00:00Z", outlet::to_json(report));
  CHECK(house.engine.snapshot() == direct.snapshot());
  CHECK(house.engine.now() == at("2026-07-01T11:00:00Z"));

  house.take(JournalKind::dose, "2026-07-01T12:00:00Z", "a body of another program");
  CHECK(house.engine.snapshot() == direct.snapshot());
  const auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK(folded->engine.snapshot() == house.engine.snapshot());
  CHECK(folded->differences.empty());
}

TEST_CASE("the last trust in the clock is remembered") {
  House house;
  house.take(JournalKind::tick, "2026-07-01T10:00:00Z", "");
  house.take(JournalKind::clock, "2026-07-01T10:01:00Z", clock_body(ClockTrust::doubted));
  auto folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK(folded->clock == ClockTrust::doubted);
  house.take(JournalKind::clock, "2026-07-01T10:02:00Z", clock_body(ClockTrust::settled));
  folded = fold_store(*house.store, house.settings);
  REQUIRE(folded);
  CHECK(folded->clock == ClockTrust::settled);
}

TEST_CASE("clock rows are read back, and unreadable ones count as doubt") {
  for (const ClockRow& what : {ClockRow(ClockTrust::settled), ClockRow(ClockTrust::doubted),
                               ClockRow(ClockTrust::unbelieved), ClockRow(Span(1)),
                               ClockRow(4 * 365 * kDay + Span(7)), ClockRow(Unheard{})})
    CHECK(read_clock_body(clock_body(what)) == what);
  for (const char* text : {"", "back", "back ", "back 1", "back 0 ms", "back -5 ms", "back 5 ms ",
                           "back 99999999999999999999 ms", "Settled", "of a later program"})
    CHECK(read_clock_body(text) == ClockRow(ClockTrust::doubted));
}

TEST_CASE("a settings row is read back") {
  const auto record = read_settings_record(to_json(SettingsRecord{7, "site:\n  name: \"x\"\n"}));
  REQUIRE(record);
  CHECK(record->rules_revision == 7);
  CHECK(record->text == "site:\n  name: \"x\"\n");
  for (const char* text : {"", "{}", "[]", R"({"rules_revision":"1","settings":"x"})"})
    CHECK_FALSE(read_settings_record(text));
}
