#include <SQLiteCpp/SQLiteCpp.h>

#include <cmath>
#include <limits>

#include "fixture.h"
#include "store/ledger_reads.h"
#include "store/night_reads.h"
#include "store/rows.h"

namespace plainwater::store {
namespace {

feeding::Decision decision(std::string bench, Instant time, std::string text) {
  feeding::Decision d;
  d.bench = std::move(bench);
  d.time = time;
  d.said = words::as_it_is(text);
  return d;
}

std::vector<LedgerRow> ledger(Store& store, const LedgerFilter& filter = {}) {
  std::vector<LedgerRow> rows;
  must(LedgerReads(store).walk(filter, [&](const LedgerRow& row) {
    rows.push_back(row);
    return true;
  }));
  return rows;
}

void record(Store& store, std::int64_t seq, const std::vector<feeding::Decision>& decisions) {
  auto transaction = must(store.begin());
  must(transaction.record(seq, decisions));
  must(transaction.commit());
}

TEST_CASE("a bench's decisions are found without scanning all others") {
  const Folder folder;
  const auto store = opened(folder / "s.db");
  Connection connection(folder / "s.db", Connection::Access::read);
  for (const bool newest_first : {false, true}) {
    SQLite::Statement plan(connection.database(),
                           std::string("EXPLAIN QUERY PLAN ") + ledger_query(true, newest_first));
    std::string steps;
    while (plan.executeStep()) steps += plan.getColumn(3).getString() + "\n";
    INFO(steps);
    CHECK(steps.find("SEARCH ledger USING INDEX ledger_bench (bench=?") != std::string::npos);
    CHECK(steps.find("TEMP B-TREE") == std::string::npos);
  }
}

TEST_CASE(
    "places of a bench that shuttles are kept beside the ledger, and both together in order") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  auto passing = decision("mist", kStart, "two");
  passing.passing = true;
  record(*store, 7, {decision("mist", kStart, "one"), passing, decision("mist", kStart, "three")});
  record(*store, 7, {passing});
  CHECK(ledger(*store).size() == 2);
  LedgerReads reads(*store);
  const auto all = must(reads.page(0, std::numeric_limits<std::int64_t>::max(), 10));
  REQUIRE(all.size() == 4);
  for (std::size_t i = 0; i < all.size(); ++i) CHECK(all[i].ordinal == static_cast<int>(i));
  CHECK(all[1].json.find("\"two\"") != std::string::npos);
  CHECK(must(reads.page(7, 1, 10)).size() == 2);
  CHECK(must(reads.count_until(7)) == 4);
  CHECK(must(reads.decision_of_nothing(0)));  // no such input is in the journal
  for (const char* change : {"DELETE FROM carried", "UPDATE carried SET json = ''"}) {
    SQLite::Database raw(folder / "s.db", SQLite::OPEN_READWRITE);
    CHECK_THROWS(raw.exec(change));
  }
}

TEST_CASE("decisions keep their order within their input") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  record(*store, 7, {decision("mist", kStart, "one"), decision("long", kStart, "two")});
  record(*store, 7, {decision("mist", kStart + hours(1), "three")});
  record(*store, 9, {decision("", kStart + hours(2), "four")});
  const auto rows = ledger(*store);
  REQUIRE(rows.size() == 4);
  CHECK(rows[2].ordinal == 2);
  CHECK(rows[2].journal_seq == 7);
  CHECK(rows[3].ordinal == 0);
  CHECK(rows[0].decision == "notice");
  CHECK(rows[0].cause.empty());
  CHECK(rows[1].json.find("\"two\"") != std::string::npos);

  LedgerFilter mist;
  mist.bench = "mist";
  CHECK(ledger(*store, mist).size() == 2);
  mist.since = kStart + minutes(1);
  CHECK(ledger(*store, mist).size() == 1);
  LedgerFilter reference;
  reference.bench = "";
  CHECK(ledger(*store, reference).size() == 1);
  LedgerFilter newest;
  newest.newest_first = true;
  newest.limit = 1;
  REQUIRE(ledger(*store, newest).size() == 1);
  CHECK(ledger(*store, newest)[0].id == rows[3].id);
  LedgerFilter after;
  after.after_id = rows[1].id;
  CHECK(ledger(*store, after).size() == 2);
}

TEST_CASE("the file itself refuses to forget or change a decision") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  record(*store, 1, {decision("mist", kStart, "stays")});
  SQLite::Database db((folder / "s.db").string(), SQLite::OPEN_READWRITE, 1000);
  CHECK_THROWS_AS(db.exec("DELETE FROM ledger"), SQLite::Exception);
  CHECK_THROWS_AS(db.exec("UPDATE ledger SET json = ''"), SQLite::Exception);
  CHECK(ledger(*store).size() == 1);
}

TEST_CASE("nights come back with every column, unknown ones unknown, and a revised one in place") {
  const Folder folder;
  auto store = opened(folder / "s.db");
  engine::NightRow night;
  night.bench = "mist";
  night.night = "2026-09-14";
  night.sunset = kStart + hours(18);
  night.sunrise = kStart + hours(30);
  night.coverage = 0.975;
  night.counted = true;
  night.mean_c = 18.123456;
  night.minimum_c = 17.5;
  night.mean_rh = std::numeric_limits<double>::quiet_NaN();
  night.acclimated_c = 19.25;
  night.deficit_c = 1.126544;
  night.metabolic_rate = 0.9;
  night.feeding = feeding::Feeding::reduced;
  night.strength_percent = 45;
  auto second = night;
  second.night = "2026-09-13";
  auto elsewhere = night;
  elsewhere.bench = "long";
  const auto put = [&](const std::vector<engine::NightRow>& nights) {
    auto transaction = must(store->begin());
    must(transaction.record(nights));
    must(transaction.commit());
  };
  put({night, second, elsewhere});
  night.mean_c = 18.5;
  put({night});

  const auto rows = must(NightReads(*store).of("mist"));
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].night == "2026-09-13");
  const auto& row = rows[1];
  CHECK(row.bench == "mist");
  CHECK(row.sunset == night.sunset);
  CHECK(row.sunrise == night.sunrise);
  CHECK(row.coverage == 0.975);
  CHECK(row.counted);
  CHECK(row.mean_c == 18.5);
  CHECK(row.minimum_c == 17.5);
  CHECK(std::isnan(row.mean_rh));
  CHECK(row.acclimated_c == 19.25);
  CHECK(row.deficit_c == 1.126544);
  CHECK(row.metabolic_rate == 0.9);
  CHECK(row.feeding == feeding::Feeding::reduced);
  CHECK(row.strength_percent == 45);
  CHECK(must(NightReads(*store).of("")).size() == 3);
  CHECK(must(NightReads(*store).of("nowhere")).empty());
}

}  // namespace
}  // namespace plainwater::store
